// Plots that no team can walk to.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/design/draw_season.hpp"

namespace swardline {

void check_reached(const std::vector<Plot>& plots, const Access& access, Flags& flags) {
  constexpr std::size_t most_named = 6;
  std::map<std::pair<std::string, std::string>, std::vector<std::string>> beyond;
  for (const Plot& plot : plots)
    if (!plot.beyond.empty()) beyond[{plot.site, plot.beyond}].push_back(plot.name);
  for (auto& [where, names] : beyond) {
    std::sort(names.begin(), names.end());
    const std::string which = names.size() == 1 ? "plot" : "plots";
    if (names.size() > most_named) {
      const std::size_t more = names.size() - (most_named - 1);
      names.resize(most_named - 1);
      names.push_back(fmt::format("{} more", more));
    }
    flags.add(Severity::ask, "plot beyond a barrier", access.barriers_place,
              fmt::format("{}: {} {} cannot be reached without crossing {}: needs a crossing.", where.first,
                          which, in_words(names), where.second),
              "Add one to the crossings under [sites.access], or cut the ground beyond out.");
  }
}

}  // namespace swardline
