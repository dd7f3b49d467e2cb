#include "swardline/base/place.hpp"

namespace swardline {

std::string Place::text() const {
  std::string out = file;
  if (line > 0) out += (out.empty() ? "line " : ":") + std::to_string(line);
  if (item.empty()) return out;
  if (out.empty()) return item;
  return out + (line > 0 ? " " : ", ") + item;
}

}  // namespace swardline
