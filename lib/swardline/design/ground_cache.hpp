// What was read last of blocks, so that the strata of one site, which ask for its blocks one after the other,
// have them read once. Private to the strata.
#pragma once

#include <cstddef>
#include <cstdint>
#include <list>
#include <map>
#include <memory>
#include <mutex>
#include <utility>
#include <vector>

#include "swardline/design/frame.hpp"
#include "swardline/design/strata_blocks.hpp"

namespace swardline {

/// Kinds of ground of the cells on which the pins of one head fall.
struct CoveredBlock {
  struct Cut {
    GroundCode code = 0;
    CellArea cell;
  };
  std::shared_ptr<const BlockGround> ground;  ///< where every cell of the block is covered; else null
  std::vector<std::uint8_t> own;
  std::vector<Cut> cut;
  /// See BlockKinds.
  [[nodiscard]] const std::vector<std::uint8_t>& whole() const { return ground ? ground->narrow : own; }
  [[nodiscard]] std::size_t bytes() const { return whole().size() + cut.size() * sizeof(Cut); }
};

/// The blocks asked for last, by a number (a source, a head) and place. Shared between threads.
template <typename Value>
class BlockCache {
 public:
  explicit BlockCache(std::size_t most_bytes) : most_bytes_(most_bytes) {}

  /// Null where the block was never kept, or not of late.
  [[nodiscard]] std::shared_ptr<const Value> find(std::size_t of, const Block& block) {
    const std::lock_guard lock(guard_);
    const auto found = where_.find({block, of});
    if (found == where_.end()) return nullptr;
    kept_.splice(kept_.begin(), kept_, found->second);
    return found->second->second;
  }

  void keep(std::size_t of, const Block& block, std::shared_ptr<const Value> value) {
    const std::lock_guard lock(guard_);
    const Key key{block, of};
    if (where_.contains(key)) return;  // another thread was as fast
    bytes_ += value->bytes();
    kept_.emplace_front(key, std::move(value));
    where_[key] = kept_.begin();
    while (bytes_ > most_bytes_ && kept_.size() > 1) {
      bytes_ -= kept_.back().second->bytes();
      where_.erase(kept_.back().first);
      kept_.pop_back();
    }
  }

 private:
  using Key = std::pair<Block, std::size_t>;
  using Kept = std::pair<Key, std::shared_ptr<const Value>>;

  std::mutex guard_;
  std::size_t most_bytes_;
  std::size_t bytes_ = 0;
  std::list<Kept> kept_;  ///< latest first
  std::map<Key, typename std::list<Kept>::iterator> where_;
};

}  // namespace swardline
