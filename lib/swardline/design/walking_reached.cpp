// Plots that no team can walk to.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/design/draw_season.hpp"

namespace swardline {
namespace {

/// Names of plots by site and by what is said of them.
using PlotsBy = std::map<std::pair<std::string, std::string>, std::vector<std::string>>;

/// "plots A, B and C", the first of many.
std::string which_plots(std::vector<std::string> names) {
  constexpr std::size_t most_named = 6;
  std::sort(names.begin(), names.end());
  const std::string which = names.size() == 1 ? "plot " : "plots ";
  if (names.size() > most_named) {
    const std::size_t more = names.size() - (most_named - 1);
    names.resize(most_named - 1);
    names.push_back(fmt::format("{} more", more));
  }
  return which + in_words(names);
}

}  // namespace

void check_reached(const std::vector<Plot>& plots, const Access& access, Flags& flags) {
  PlotsBy beyond, outside;
  for (const Plot& plot : plots) {
    if (!plot.beyond.empty()) beyond[{plot.site, plot.beyond}].push_back(plot.name);
    if (!plot.round_outside.empty()) outside[{plot.site, plot.round_outside}].push_back(plot.name);
  }
  for (const auto& [where, names] : beyond)
    flags.add(Severity::ask, "plot beyond a barrier", access.barriers_place,
              fmt::format("{}: {} cannot be reached without crossing {}: needs a crossing.", where.first,
                          which_plots(names), where.second),
              "Add one to the crossings under [sites.access], or cut the ground beyond out.");
  for (const auto& [where, names] : outside)
    flags.add(Severity::ask, "way outside the site", access.barriers_place,
              fmt::format("{}: {} can be reached only by a way that leaves the site to get round {}.",
                          where.first, which_plots(names), where.second),
              "Ask whose ground that is, add a crossing under [sites.access], or cut the ground beyond out.");
}

}  // namespace swardline
