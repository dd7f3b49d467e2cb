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

}  // namespace swardline
