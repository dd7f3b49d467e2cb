#include "swardline/season/read_panels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

namespace swardline {
namespace {

void read_shares(const TomlTable& at, PanelsSpec& panels) {
  const auto shares = at.numbers("shares", {.low = 0, .high = 1, .above_low = true});
  if (!shares || panels.parts.empty()) return;
  const double sum = std::accumulate(shares->begin(), shares->end(), 0.0);
  if (shares->size() != panels.parts.size() || std::abs(sum - 1) > 1e-9) {
    at.stop(at.place("shares"), "shares of a pattern",
            shares->size() != panels.parts.size()
                ? fmt::format("shares has {} numbers for {} parts of the pattern {}.", shares->size(),
                              panels.parts.size(), panels.pattern)
                : fmt::format("shares add up to {:.4g}, not to 1.", sum),
            "Give every part its share of a season's plots, like shares = [0.5, 0.5].");
    return;
  }
  for (std::size_t i = 0; i < shares->size(); ++i) panels.parts[i].share = (*shares)[i];
}

void check_years(const TomlTable& at, const PanelsSpec& panels) {
  if (panels.year < panels.start)
    at.stop(at.place("year"), "season before the panels",
            fmt::format("year = {} comes before start = {}.", panels.year, panels.start),
            "year is this season's, start that of the first.");
  const bool ends = std::any_of(panels.parts.begin(), panels.parts.end(),
                                [](const RevisitPart& part) { return part.never_again; });
  if (!ends) return;
  if (!panels.years) {
    at.stop(
        at.place("pattern"), "seasons of a pattern",
        fmt::format("the pattern {} needs new plots every season, and all are drawn at the start: for how "
                    "many seasons?",
                    panels.pattern),
        "Write years = 6 (how many seasons there will be).");
  } else if (panels.year >= panels.start + *panels.years) {
    at.stop(at.place("year"), "season after the panels",
            fmt::format("plots were drawn for the seasons {} to {}, and this is {}.", panels.start,
                        panels.start + *panels.years - 1, panels.year),
            "Begin again: start = this year, with change = true.");
  }
}

}  // namespace

void read_panels(const TomlTable& at, Plan& plan) {
  PanelsSpec& panels = plan.panels;
  panels.given = true;
  panels.place = at.place();
  for (const char* key : {"pattern", "start", "year"}) at.require(key);
  if (const auto text = at.text("pattern")) {
    std::string problem;
    panels.pattern = *text;
    std::erase(panels.pattern, ' ');  // blanks make no other pattern
    panels.parts = read_pattern(*text, problem);
    if (panels.parts.empty())
      at.stop(
          at.place("pattern"), "revisit pattern", fmt::format("pattern cannot be read: {}.", problem),
          "Write for example \"[1-0]\" (every season), \"[1-3]\" (one on, three off), \"[1-n]\" (once, never "
          "again) or \"[1-0,1-3]\" (some plots so, some so).");
  }
  read_shares(at, panels);
  take(at.whole("start", 1900, 2200), panels.start);
  take(at.whole("year", 1900, 2200), panels.year);
  if (const auto years = at.whole("years", 1, 100)) panels.years = static_cast<int>(*years);
  take(at.yes_no("change"), panels.change);
  if (at.has("start") && at.has("year") && panels.start > 0 && panels.year > 0) check_years(at, panels);
}

void check_revisits(const Plan& plan, Flags& flags) {
  if (!plan.panels.given && !plan.sample.keep) return;
  const Place& place = plan.panels.given ? plan.panels.place : plan.sample.keep->place;
  const std::string what = plan.panels.given ? "panels" : "kept plots";
  const std::string out = plan.panels.given ? "Take [panels] out" : "Take keep out";
  const auto stop = [&](const std::string& beside, const std::string& remedy) {
    flags.add(Severity::stop, "revisits of plots only", place,
              fmt::format("{} go with plots only, and {}.", what, beside), remedy);
  };
  if (plan.sample.unit == SampleUnit::transect)
    stop("the plan asks for transects", out + ", or write unit = \"plot\".");
  // Which site and stratum a pin outside belongs to is not kept from season to season.
  if (plan.sample.edge == EdgeRule::grown_frame)
    stop("edge = \"grown-frame\" puts pins outside them", out + ", or write edge = \"walk-through\".");
}

}  // namespace swardline
