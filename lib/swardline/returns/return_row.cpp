#include "swardline/returns/return_row.hpp"

namespace swardline {

std::int32_t TextPool::index_of(std::string_view text) {
  if (text.empty()) return -1;
  if (const auto found = index_.find(text); found != index_.end()) return found->second;
  const auto next = static_cast<std::int32_t>(texts_.size());
  texts_.emplace_back(text);
  index_.emplace(texts_.back(), next);
  return next;
}

const std::string& TextPool::text(std::int32_t index) const {
  static const std::string none;
  return index < 0 ? none : texts_.at(static_cast<std::size_t>(index));
}

}  // namespace swardline
