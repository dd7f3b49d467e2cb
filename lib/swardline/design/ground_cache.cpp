#include "swardline/design/ground_cache.hpp"

namespace swardline {

BlockGround::BlockGround(const std::vector<GroundCode>& codes, std::vector<std::int32_t> weights,
                         std::size_t kinds)
    : weights_(std::move(weights)) {
  if (kinds > 256) {
    wide_ = codes;
    return;
  }
  narrow_.resize(codes.size());
  for (std::size_t i = 0; i < codes.size(); ++i) narrow_[i] = std::uint8_t(codes[i]);
}

std::size_t BlockGround::bytes() const {
  return narrow_.size() + wide_.size() * sizeof(GroundCode) + weights_.size() * sizeof(std::int32_t);
}

std::shared_ptr<const BlockGround> GroundCache::find(std::size_t source, const Block& block) {
  const std::lock_guard lock(guard_);
  const auto found = where_.find({block, source});
  if (found == where_.end()) return nullptr;
  kept_.splice(kept_.begin(), kept_, found->second);
  return found->second->second;
}

void GroundCache::keep(std::size_t source, const Block& block, std::shared_ptr<const BlockGround> ground) {
  const std::lock_guard lock(guard_);
  const Key key{block, source};
  if (where_.contains(key)) return;  // another thread was as fast
  bytes_ += ground->bytes();
  kept_.emplace_front(key, std::move(ground));
  where_[key] = kept_.begin();
  while (bytes_ > most_bytes_ && kept_.size() > 1) {
    bytes_ -= kept_.back().second->bytes();
    where_.erase(kept_.back().first);
    kept_.pop_back();
  }
}

}  // namespace swardline
