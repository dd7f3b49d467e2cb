// A sound text with one thing changed, and what must be said of it.
#pragma once

#include <string>
#include <vector>

#include "season_folder.hpp"

namespace swardline::testing {

struct Case {
  const char* from;
  const char* to;
  const char* said;
};

inline std::string adding_to_plan(const std::string& lines) { return sound_plan + lines; }

inline void check_all(const std::vector<Case>& cases, const std::string& text,
                      Reading (*reader)(const std::string&)) {
  for (const Case& each : cases) {
    const std::string changed = each.to;
    CAPTURE(changed);
    CHECK_SAYS_ONLY(reader(with(text, each.from, each.to)), each.said);
  }
}

}  // namespace swardline::testing
