// A change in words.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <string>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/estimate/change.hpp"
#include "swardline/estimate/change_numbers.hpp"
#include "swardline/estimate/rounding.hpp"

namespace swardline {
namespace {

using namespace change_parts;

/// Strata are told of in words where there are no more than these; all are in the table.
constexpr std::size_t few_strata = 6;
/// What stands behind a change is told for every place where there are no more than these, else for all
/// sites.
constexpr std::size_t few_places = 6;
/// Plots that are not paired are listed up to this number.
constexpr std::size_t most_listed = 40;

std::string plural(int number, const char* one, const char* many) {
  return fmt::format("{} {}", grouped(number), number == 1 ? one : many);
}

class Words {
 public:
  explicit Words(const SeasonChange& change)
      : all_(change),
        times_(change.unit_area_m2 > 0 ? change.unit_area_m2 : 1e4),
        per_(change.unit_area_m2 > 0 ? change.transects ? "stems per transect" : "stems per plot"
                                     : "stems per hectare") {}

  std::string text() {
    std::string out = head();
    std::set<std::string> places;
    for (const ChangeEstimate& estimate : all_.estimates)
      if (estimate.stratum.empty() && !without_pairs(estimate)) places.insert(estimate.where);
    many_places_ = places.size() > few_places;
    if (many_places_) out += "In short; every place with all its numbers is in the table of estimates.\n";
    for (std::size_t i = 0; i < all_.estimates.size(); ++i) {
      const ChangeEstimate& estimate = all_.estimates[i];
      // A species is looked for in few of the places that other species are told for.
      if (without_pairs(estimate))
        unknown_.push_back(place(estimate));
      else if ((estimate.stratum.empty() || all_.ground.size() <= few_strata) &&
               !(many_places_ && told_already(i)))
        out += of(estimate);
      if (i + 1 == all_.estimates.size() || name(all_.estimates[i + 1]) != name(estimate))
        out += of_unknown(name(estimate));
    }
    for (const std::string& line : unpaired_in_words(all_)) out += line + "\n";
    out.pop_back();
    return out;
  }

 private:
  std::string head() const {
    const auto pairs = std::count_if(all_.plots.begin(), all_.plots.end(), [](const MatchedPlot& plot) {
      return plot.matching == Matching::paired;
    });
    std::string out = fmt::format(
        "Change from {} to {}, on {} counted in both at the same place", all_.earlier_year, all_.later_year,
        plural(int(pairs), all_.transects ? "transect" : "plot", all_.transects ? "transects" : "plots"));
    if (all_.unit_area_m2 > 0) out += fmt::format(" (of {} m²)", shortest(all_.unit_area_m2));
    return out + ". Two seasons show a change, not a trend.\n";
  }

  static std::string name(const ChangeEstimate& estimate) {
    return estimate.species + (estimate.with_not_certain ? " (sure + not certain)" : "");
  }
  static const std::string& place(const ChangeEstimate& estimate) {
    return estimate.stratum.empty() ? estimate.where : estimate.stratum;
  }
  static std::string label(const ChangeEstimate& estimate) { return name(estimate) + ", " + place(estimate); }

  static bool without_pairs(const ChangeEstimate& estimate) {
    return estimate.paired.pairs == 0 && estimate.where != "all sites";
  }

  static bool same_numbers(const ChangeEstimate& a, const ChangeEstimate& b) {
    return a.paired.pairs == b.paired.pairs && a.paired.change == b.paired.change &&
           a.paired.standard_error == b.paired.standard_error && a.paired.now == b.paired.now;
  }
  /// Of the same place by sure counts alone, or of a single site under the name of its habitat.
  [[nodiscard]] bool told_already(std::size_t index) const {
    const ChangeEstimate& estimate = all_.estimates[index];
    return std::any_of(all_.estimates.begin(), all_.estimates.begin() + std::ptrdiff_t(index),
                       [&](const ChangeEstimate& other) {
                         if (other.species != estimate.species || other.stratum != estimate.stratum ||
                             !same_numbers(other, estimate))
                           return false;
                         return other.with_not_certain == estimate.with_not_certain
                                    ? estimate.paired.change != 0
                                    : other.where == estimate.where;
                       });
  }

  std::string of_unknown(const std::string& species) {
    const std::vector<std::string> places = std::exchange(unknown_, {});
    if (places.empty()) return {};
    return fmt::format("{}: no plot was counted in both seasons, so nothing is said of change, in {}.\n",
                       species, in_words(places));
  }

  /// "−2.04 to +0.38"
  std::string limits(const LowHigh& limits, int decimals) const {
    return fmt::format("{} to {}", with_sign(times_ * limits.low, decimals),
                       with_sign(times_ * limits.high, decimals));
  }

  std::string percent() const { return fmt::format("{:.3g} %", 100 * all_.options.confidence); }

  std::string of(const ChangeEstimate& estimate) const {
    const PairedChange& paired = estimate.paired;
    std::string out = label(estimate) + ": ";
    if (paired.pairs == 0) {
      out += "no plot was counted in both seasons, so nothing is said of change.\n";
      return out + one_season_ground(estimate);
    }
    const int decimals = decimals_of(times_ * paired.standard_error.value_or(0));
    out += fmt::format("{} {}", with_sign(times_ * paired.change, decimals), per_);
    if (estimate.ratio)
      out += fmt::format(" ({})", percent_change(*estimate.ratio));
    else if (paired.now > 0)
      out += " (none then)";
    if (estimate.limits) out += fmt::format(", {} {}", percent(), limits(*estimate.limits, decimals));
    out += fmt::format(", {}: {}.\n", plural(paired.pairs, "pair", "pairs"), word(estimate.change));
    for (const std::string& caution : estimate.caution) out += fmt::format("  Note: {}.\n", caution);
    if (estimate.stratum.empty() && (!many_places_ || estimate.where == "all sites")) out += behind(estimate);
    return out;
  }

  std::string behind(const ChangeEstimate& estimate) const {
    std::string out;
    if (estimate.ratio && estimate.ratio_limits)
      out += fmt::format("  Now {} % of what it was ({} limits {} to {} %, Fieller's).\n",
                         in_steps(100 * *estimate.ratio, 1), percent(),
                         in_steps(100 * std::max(0.0, estimate.ratio_limits->low), 1),
                         in_steps(100 * estimate.ratio_limits->high, 1));
    if (estimate.needed) out += needed(*estimate.needed);
    if (estimate.composite)
      out += composite(*estimate.composite);
    else if (!estimate.no_composite.empty())
      out += fmt::format("  Plots without a partner are not used: {}.\n", estimate.no_composite);
    if (estimate.without_pairs_m2 > 0)
      out += fmt::format("  {} of ground that both seasons share hold no pair: nothing is said of them.\n",
                         hectares(estimate.without_pairs_m2));
    return out + one_season_ground(estimate);
  }

  std::string needed(const PairsNeeded& needed) const {
    const int low = std::min(needed.by_formula, needed.by_test);
    const int high = std::max(needed.by_formula, needed.by_test);
    return fmt::format(
        "  {} would show a change of {:.3g} % (by the formula and by Student's t; power {:.3g} %, false "
        "changes {:.3g} %).\n",
        high - low <= std::max(1, high / 100) ? "about " + plural(high, "pair", "pairs")
                                              : fmt::format("{} to {} pairs", grouped(low), grouped(high)),
        100 * all_.options.worth_seeing, 100 * all_.options.test.power, 100 * all_.options.test.false_change);
  }

  std::string composite(const CompositeChange& composite) const {
    const int decimals = decimals_of(times_ * composite.standard_error);
    std::string out = fmt::format(
        "  With the plots that have no partner ({} of {}, {} of {}), each weighted by its variance: {} {}, "
        "{} "
        "{}; ",
        grouped(composite.only_then), all_.earlier_year, grouped(composite.only_now), all_.later_year,
        with_sign(times_ * composite.change, decimals), per_, percent(), limits(composite.limits, decimals));
    return out + fmt::format("{:.0f} % less variance than the pairs alone.\n", 100 * composite.gain);
  }

  std::string one_season_ground(const ChangeEstimate& estimate) const {
    std::string out;
    if (estimate.shared_m2 > 0 && (estimate.gained.area_m2 > 0 || estimate.lost.area_m2 > 0))
      out += fmt::format("  On the ground {} that is {} stems{}.\n",
                         estimate.without_pairs_m2 > 0 ? "with pairs" : "of both seasons",
                         (estimate.stems < 0 ? "−" : "+") + about(std::abs(estimate.stems)),
                         estimate.stems_se.value_or(0) > 0
                             ? fmt::format(" (standard error {})", about(*estimate.stems_se))
                             : std::string());
    out += ground(estimate.gained, "gained", "are no increase in density");
    return out + ground(estimate.lost, "lost", "are no decrease in density");
  }

  static std::string ground(const OneSeasonGround& ground, const char* what, const char* meaning) {
    constexpr double by_drawing = 10;  // m²: what two outlines of one boundary differ by
    if (!(ground.area_m2 > by_drawing)) return {};
    if (ground.plots == 0)
      return fmt::format("  {} of survey area {}: no plot was counted there.\n", hectares(ground.area_m2),
                         what);
    return fmt::format("  {} of survey area {}: {} stems there{} {}.\n", hectares(ground.area_m2), what,
                       about(ground.stems),
                       ground.standard_error.value_or(0) > 0
                           ? fmt::format(" (standard error {}, from {})", about(*ground.standard_error),
                                         plural(ground.plots, "plot", "plots"))
                           : fmt::format(" (from {})", plural(ground.plots, "plot", "plots")),
                       meaning);
  }

  std::vector<std::string> unknown_;  ///< places of a species without a pair
  bool many_places_ = false;
  const SeasonChange& all_;
  double times_;
  const char* per_;
};

}  // namespace

std::vector<std::string> unpaired_in_words(const SeasonChange& change) {
  // What a reader may have to look into comes first; plots that rest are as planned, and only counted.
  constexpr Matching in_order[] = {Matching::moved, Matching::not_counted_now, Matching::not_counted_then,
                                   Matching::gone, Matching::added};
  std::vector<std::size_t> named;
  for (const Matching matching : in_order)
    for (std::size_t i = 0; i < change.plots.size(); ++i)
      if (change.plots[i].matching == matching) named.push_back(i);
  std::map<std::string, int> resting;
  for (const MatchedPlot& plot : change.plots)
    if (plot.matching == Matching::resting_now || plot.matching == Matching::resting_then)
      ++resting[plot.why];
  std::vector<std::string> lines;
  if (!named.empty() || !resting.empty()) lines.emplace_back("Not paired:");
  const std::size_t listed = std::min(named.size(), most_listed);
  std::size_t width = 0;
  for (std::size_t k = 0; k < listed; ++k) width = std::max(width, change.names[named[k]].size());
  for (std::size_t k = 0; k < listed; ++k)
    lines.push_back(fmt::format("  {:<{}}  {}", change.names[named[k]], width, change.plots[named[k]].why));
  if (named.size() > listed)
    lines.push_back(fmt::format("  and {} more; all are in the JSON summary",
                                grouped(std::int64_t(named.size() - listed))));
  const bool transects = change.transects;
  for (const auto& [why, number] : resting)
    lines.push_back(fmt::format(
        "  {}: {}", plural(number, transects ? "transect" : "plot", transects ? "transects" : "plots"), why));
  return lines;
}

std::string in_words(const SeasonChange& change) { return Words(change).text(); }

}  // namespace swardline
