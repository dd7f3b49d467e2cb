// Kinds of ground of the blocks read last, so that the strata of one site, which ask for its blocks one after
// the other, have them read once. Private to the strata.
#pragma once

#include <cstddef>
#include <cstdint>
#include <list>
#include <map>
#include <memory>
#include <mutex>
#include <utility>
#include <vector>

#include "swardline/design/strata_blocks.hpp"

namespace swardline {

/// Kinds of ground of a block's cells, row by row, a byte each where that is enough; and the cells' weights
/// where chances are weighted.
class BlockGround {
 public:
  /// `kinds`: how many numbers of ground there are.
  BlockGround(const std::vector<GroundCode>& codes, std::vector<std::int32_t> weights, std::size_t kinds);
  [[nodiscard]] GroundCode code(std::size_t cell) const {
    return wide_.empty() ? narrow_[cell] : wide_[cell];
  }
  [[nodiscard]] const std::vector<std::int32_t>& weights() const { return weights_; }
  [[nodiscard]] std::size_t bytes() const;

 private:
  std::vector<std::uint8_t> narrow_;
  std::vector<GroundCode> wide_;
  std::vector<std::int32_t> weights_;
};

/// Shared between threads.
class GroundCache {
 public:
  explicit GroundCache(std::size_t most_bytes) : most_bytes_(most_bytes) {}
  /// Null where the block was never kept, or not of late.
  [[nodiscard]] std::shared_ptr<const BlockGround> find(std::size_t source, const Block& block);
  void keep(std::size_t source, const Block& block, std::shared_ptr<const BlockGround> ground);

 private:
  using Key = std::pair<Block, std::size_t>;
  using Kept = std::pair<Key, std::shared_ptr<const BlockGround>>;

  std::mutex guard_;
  std::size_t most_bytes_;
  std::size_t bytes_ = 0;
  std::list<Kept> kept_;  ///< latest first
  std::map<Key, std::list<Kept>::iterator> where_;
};

}  // namespace swardline
