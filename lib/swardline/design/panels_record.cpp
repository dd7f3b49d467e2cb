// Panels begun in an earlier season are held to: another pattern or other numbers mid-cycle break them.
#include <fmt/format.h>
#include <toml++/toml.h>

#include <algorithm>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"

namespace swardline::season_parts {
namespace {

namespace fs = std::filesystem;

/// Panels as they were begun.
struct Begun {
  std::string pattern;
  std::vector<double> shares;
  int start = 0, years = 0;  ///< years: 0 where the plan gave none
  std::string numbers;       ///< what the plan asked: "each = 6"
  int drawn_in = 0;          ///< year of the draw
  std::string season;        ///< name of the season of the draw
  friend bool same_cycle(const Begun& a, const Begun& b) {
    return a.pattern == b.pattern && a.shares == b.shares && a.start == b.start && a.years == b.years;
  }
};

Begun asked_by(const Plan& plan) {
  Begun now;
  now.pattern = plan.panels.pattern;
  for (const RevisitPart& part : plan.panels.parts) now.shares.push_back(part.share);
  now.start = plan.panels.start;
  now.years = plan.panels.years.value_or(0);
  now.numbers = plan.sample.each    ? fmt::format("each = {}", *plan.sample.each)
                : plan.sample.total ? fmt::format("total = {}", *plan.sample.total)
                                    : "";
  now.drawn_in = plan.panels.year;
  now.season = plan.name;
  return now;
}

std::string text_of(const Begun& begun) {
  std::vector<std::string> shares;
  for (const double share : begun.shares) shares.push_back(shortest(share));
  return fmt::format(
      "# Revisit panels, written by the draw that began them.\n\npattern = {}\nshares = [{}]\nstart = {}\n"
      "years = {}\nnumbers = {}\ndrawn_in = {}\nseason = {}\n",
      json_quote(begun.pattern), fmt::join(shares, ", "), begun.start, begun.years, json_quote(begun.numbers),
      begun.drawn_in, json_quote(begun.season));
}

Begun read_begun(const fs::path& file) {
  try {
    const toml::table top = toml::parse(read_whole(file));
    Begun begun;
    begun.pattern = top["pattern"].value_or(std::string());
    begun.start = top["start"].value_or(0);
    begun.years = top["years"].value_or(0);
    begun.numbers = top["numbers"].value_or(std::string());
    begun.drawn_in = top["drawn_in"].value_or(0);
    begun.season = top["season"].value_or(std::string());
    if (const toml::array* shares = top["shares"].as_array()) {
      for (const toml::node& share : *shares) begun.shares.push_back(share.value_or(0.0));
    }
    if (!begun.pattern.empty() && begun.drawn_in > 0) return begun;
  } catch (const toml::parse_error&) {  // said below, as for a file that lacks its keys
  }
  throw InputError({file.string(), 0, {}}, "is damaged: it does not say which panels were begun.",
                   "Bring it back from a copy.");
}

PanelsSpec spec_of(const Begun& begun, int year) {
  PanelsSpec spec;
  std::string problem;
  spec.pattern = begun.pattern;
  spec.parts = read_pattern(begun.pattern, problem);
  for (std::size_t i = 0; i < std::min(spec.parts.size(), begun.shares.size()); ++i)
    spec.parts[i].share = begun.shares[i];
  spec.start = begun.start;
  spec.year = year;
  if (begun.years > 0) spec.years = begun.years;
  return spec;
}

/// Revisits that would not be made, panel by panel: "B1 (18 plots counted in 2027, due again in 2031)".
std::string lost_in_words(const Begun& begun, int year, const KeptPlots& kept) {
  const PanelScheme scheme(spec_of(begun, year));
  std::vector<std::string> lost;
  for (std::size_t p = 0; p < scheme.panels().size(); ++p) {
    std::vector<std::string> counted;
    for (int y = begun.start; y < year; ++y) {
      if (scheme.due(p, y)) counted.push_back(std::to_string(y));
    }
    int next = 0;
    for (int y = year; y <= year + 100 && next == 0; ++y) next = scheme.due(p, y) ? y : 0;
    if (counted.empty() || next == 0) continue;
    const auto plots = std::count_if(kept.plots.begin(), kept.plots.end(), [&](const Plot& plot) {
      return !plot.spare && plot.panel == scheme.panels()[p].name;
    });
    lost.push_back(fmt::format("{} ({}counted in {}, due again in {})", scheme.panels()[p].name,
                               plots > 0 ? fmt::format("{} plots, ", plots) : "", in_words(counted), next));
  }
  return lost.empty() ? "no plot counted so far is due again"
                      : "lost would be the revisits of " + in_words(lost);
}

[[noreturn]] void refuse(const Plan& plan, const Begun& begun, const std::string& what,
                         const KeptPlots& kept) {
  throw InputError(
      plan.panels.given ? plan.panels.place : plan.sample.place,
      fmt::format("panels {} were begun in {} with {}, and {}: {}.", begun.pattern, begun.drawn_in,
                  begun.numbers, what, lost_in_words(begun, plan.panels.year, kept)),
      "Put the plan back; or, to begin again all the same, set [panels] change = true.");
}

/// What the plan wants otherwise; empty when it wants what was begun.
std::string difference(const Begun& begun, const Begun& now) {
  if (begun.pattern != now.pattern) return fmt::format("the pattern is {} now", now.pattern);
  if (!same_cycle(begun, now)) return "start, years or shares are others now";
  if (begun.numbers != now.numbers) return fmt::format("the plan says {} now", now.numbers);
  return {};
}

}  // namespace

std::string panels_to_record(const Plan& plan, const fs::path& record, const KeptPlots& kept, Flags& flags) {
  const fs::path file = record / "panels.toml";
  const bool has = !record.empty() && fs::exists(file);
  if (!plan.panels.given) {
    if (!has) return {};
    const Begun begun = read_begun(file);
    throw InputError(
        plan.sample.place,
        fmt::format("panels {} were begun in {}, and the plan has no [panels].", begun.pattern,
                    begun.drawn_in),
        fmt::format("Put [panels] back with this season's year; or remove {} to have no panels any "
                    "more: then plots are drawn anew, or all kept ones are due every season.",
                    file.string()));
  }
  const Begun now = asked_by(plan);
  if (!has) return text_of(now);
  const Begun begun = read_begun(file);
  if (begun.drawn_in >= plan.panels.year) return text_of(now);  // the same season, drawn again
  const std::string other = difference(begun, now);
  if (!other.empty() && !plan.panels.change) refuse(plan, begun, other, kept);
  if (!other.empty()) {
    flags.add(
        Severity::note, "panels changed mid-cycle", plan.panels.place,
        fmt::format("panels {} begun in {} with {} are given up ({}): {}.", begun.pattern, begun.drawn_in,
                    begun.numbers, other, lost_in_words(begun, plan.panels.year, kept)));
    return text_of(now);
  }
  if (kept.plots.empty() && !plan.panels.change)
    throw InputError(
        plan.panels.place,
        fmt::format("panels {} were begun in {}, and no plots are kept: all would be drawn and named "
                    "anew, and every revisit lost.",
                    begun.pattern, begun.drawn_in),
        "Name last season's store: [sample] keep = \"../2027/season.gpkg\".");
  return text_of(begun);
}

}  // namespace swardline::season_parts
