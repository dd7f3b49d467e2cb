#include "swardline/base/file_names.hpp"

#include <fmt/format.h>

#include <set>

#include "swardline/base/text.hpp"

namespace swardline {

std::vector<std::string> unique_file_names(const std::vector<std::string>& texts) {
  std::vector<std::string> names(texts.size());
  std::set<std::string> taken;
  for (const bool as_it_is : {true, false}) {
    for (std::size_t i = 0; i < texts.size(); ++i) {
      const std::string name = safe_file_name(texts[i]);
      if ((name == texts[i]) != as_it_is) continue;
      names[i] = name;
      for (int n = 2; !taken.insert(lower_ascii(names[i])).second; ++n)
        names[i] = fmt::format("{}-{}", name, n);
    }
  }
  return names;
}

}  // namespace swardline
