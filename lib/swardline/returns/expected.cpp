#include "swardline/returns/expected.hpp"

namespace swardline {

std::int32_t Expected::plot(std::string_view name) const {
  const auto found = index.find(name);
  return found == index.end() ? -1 : found->second;
}

}  // namespace swardline
