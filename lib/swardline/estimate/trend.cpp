#include "swardline/estimate/trend.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <set>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/estimate/counted_place.hpp"
#include "swardline/estimate/trend_model.hpp"
#include "swardline/geo/crs.hpp"

namespace swardline {
namespace {

using namespace change_parts;

/// One count: where, when, and the square root of stems per plot.
struct Count {
  std::string site, stratum;
  std::int32_t plot = 0;
  int year = 0;
  double root = 0;
};

/// Numbers names in the order they come.
class Numbers {
 public:
  std::int32_t of(const std::string& name) {
    return index_.emplace(name, std::int32_t(index_.size())).first->second;
  }
  [[nodiscard]] std::size_t size() const { return index_.size(); }

 private:
  std::map<std::string, std::int32_t> index_;
};

/// The same plot in all seasons, unless it moved.
class PlotIdentities {
 public:
  explicit PlotIdentities(double moved_m) : moved_m_(moved_m) {}

  std::int32_t of(const EvaluatedUnit& unit, const Route* to_first) {
    CountedPlace here = counted_place(unit, moved_m_);
    if (to_first != nullptr) here.at = to_first->forward(here.at);
    std::vector<std::pair<CountedPlace, std::int32_t>>& places = places_[unit.name];
    for (const auto& [there, id] : places)
      if (apart(here.at, there.at) <= moved_m_ + here.give_m + there.give_m) return id;
    places.emplace_back(here, next_);
    return next_++;
  }

 private:
  double moved_m_;
  std::int32_t next_ = 0;
  std::map<std::string, std::vector<std::pair<CountedPlace, std::int32_t>>> places_;
};

/// One grouping of the counts; kept where it says something the others and the residual do not.
struct Effect {
  const char* name;
  std::vector<std::int32_t> level;
  std::size_t levels = 0;
};

bool same_groups(const Effect& a, const Effect& b) {
  if (a.levels != b.levels) return false;
  std::map<std::int32_t, std::int32_t> to;
  for (std::size_t i = 0; i < a.level.size(); ++i)
    if (to.emplace(a.level[i], b.level[i]).first->second != b.level[i]) return false;
  return true;
}

std::vector<Effect> effects_of(const std::vector<Count>& counts) {
  std::vector<Effect> all = {
      {"year", {}, 0}, {"site", {}, 0}, {"stratum", {}, 0}, {"site and year", {}, 0}, {"plot", {}, 0}};
  std::vector<Numbers> numbers(all.size());
  for (const Count& count : counts) {
    const std::string year = std::to_string(count.year);
    const std::string names[] = {year, count.site, count.site + "\n" + count.stratum,
                                 count.site + "\n" + year, std::to_string(count.plot)};
    for (std::size_t k = 0; k < all.size(); ++k) all[k].level.push_back(numbers[k].of(names[k]));
  }
  std::vector<Effect> kept;
  for (std::size_t k = 0; k < all.size(); ++k) {
    all[k].levels = numbers[k].size();
    if (all[k].levels < 2 || all[k].levels >= counts.size()) continue;
    const bool told = std::any_of(kept.begin(), kept.end(),
                                  [&](const Effect& other) { return same_groups(all[k], other); });
    if (!told) kept.push_back(std::move(all[k]));
  }
  return kept;
}

class Trend {
 public:
  Trend(std::vector<const EvaluatedSeason*> seasons, double confidence, double moved_m)
      : seasons_(std::move(seasons)), plots_(moved_m) {
    std::sort(seasons_.begin(), seasons_.end(),
              [](const EvaluatedSeason* a, const EvaluatedSeason* b) { return a->year < b->year; });
    for (const EvaluatedSeason* season : seasons_) {
      if (!all_.years.empty() && all_.years.back() == season->year)
        throw InputError({season->season, 0, {}},
                         fmt::format("is of {}, and so is another season.", season->year),
                         "Give one store for each year.");
      all_.years.push_back(season->year);
    }
    all_.confidence = confidence;
    if (seasons_.empty()) return;
    all_.season = seasons_.back()->season;
    all_.unit_area_m2 = seasons_.back()->unit_area_m2;
    identify();
  }

  SeasonTrend work_out(Flags& flags) {
    const int seasons = int(all_.years.size());
    if (seasons < least_trend_seasons) {
      all_.refused =
          fmt::format("{} season{} show{} {}, not a trend: that takes {}.", seasons, seasons == 1 ? "" : "s",
                      seasons == 1 ? "s" : "", seasons == 1 ? "a state" : "a change", least_trend_seasons);
      return std::move(all_);
    }
    say_sizes(flags);
    say_observers(flags);
    for (const std::string& species : seasons_.back()->species) {
      const std::vector<Count> counts = counts_of(species);
      std::map<std::string, std::vector<Count>> by_site;
      for (const Count& count : counts) by_site[count.site].push_back(count);
      all_.estimates.push_back(estimate("all sites", species, counts));
      if (by_site.size() < 2) continue;
      for (const auto& [site, own] : by_site) all_.estimates.push_back(estimate(site, species, own));
    }
    return std::move(all_);
  }

 private:
  void identify() {
    const EvaluatedSeason& first = *seasons_.front();
    for (const EvaluatedSeason* season : seasons_) {
      std::unique_ptr<Route> route;
      if (!season->crs.empty() && !first.crs.empty() && season->crs != first.crs) {
        const Crs from = Crs::from_text(season->crs), to = Crs::from_text(first.crs);
        if (!from.same_as(to)) route = std::make_unique<Route>(from, to);
      }
      std::vector<std::int32_t>& ids = identities_.emplace_back();
      for (const EvaluatedUnit& unit : season->units)
        ids.push_back(unit.evaluated ? plots_.of(unit, route.get()) : -1);
    }
  }

  void say_sizes(Flags& flags) const {
    std::set<double> sizes;
    for (const EvaluatedSeason* season : seasons_) sizes.insert(season->unit_area_m2);
    if (*sizes.rbegin() - *sizes.begin() > 0.01 * *sizes.rbegin())
      flags.add(
          Severity::ask, "another plot size", {all_.season, 0, {}},
          fmt::format("plots had {} to {} m² over the years: larger plots lose more plants to the eye, and "
                      "that can look like a trend.",
                      shortest(*sizes.begin()), shortest(*sizes.rbegin())),
          "Keep one size, or count some plots both ways.");
  }

  /// New people look like new plants.
  void say_observers(Flags& flags) const {
    const auto observers = [](const EvaluatedSeason& season) {
      std::set<std::string> ids;
      for (const EvaluatedUnit& unit : season.units)
        if (unit.evaluated && !unit.observer.empty()) ids.insert(unit.observer);
      return ids;
    };
    const std::set<std::string> first = observers(*seasons_.front()), last = observers(*seasons_.back());
    const auto stayed =
        std::count_if(last.begin(), last.end(), [&](const auto& id) { return first.count(id) > 0; });
    if (first.empty() || last.empty() || 2 * std::size_t(stayed) >= last.size()) return;
    flags.add(
        Severity::note, "other observers", {all_.season, 0, {}},
        fmt::format("{} of {} observers of {} counted in {} too: a change of people can look like a trend.",
                    stayed, last.size(), all_.years.back(), all_.years.front()),
        "Look at the recount ratios of the years.");
  }

  std::vector<Count> counts_of(const std::string& species) const {
    std::vector<Count> counts;
    for (std::size_t s = 0; s < seasons_.size(); ++s) {
      const EvaluatedSeason& season = *seasons_[s];
      const auto code = std::find(season.species.begin(), season.species.end(), species);
      if (code == season.species.end()) continue;
      const auto k = std::size_t(code - season.species.begin());
      for (std::size_t i = 0; i < season.units.size(); ++i) {
        const EvaluatedUnit& unit = season.units[i];
        if (!unit.evaluated || !unit.counts[k].searched || !(unit.counts[k].area_m2 > 0)) continue;
        const double per_plot = unit.counts[k].sure / unit.counts[k].area_m2 * all_.unit_area_m2;
        counts.push_back({unit.site, unit.stratum, identities_[s][i], season.year, std::sqrt(per_plot)});
      }
    }
    return counts;
  }

  TrendEstimate estimate(const std::string& where, const std::string& species,
                         const std::vector<Count>& counts) const {
    TrendEstimate estimate;
    estimate.where = where;
    estimate.species = species;
    estimate.counts = int(counts.size());
    std::set<int> years;
    std::set<std::int32_t> plots;
    bool found = false;
    for (const Count& count : counts) {
      years.insert(count.year);
      plots.insert(count.plot);
      found = found || count.root > 0;
    }
    estimate.plots = int(plots.size());
    estimate.seasons = int(years.size());
    if (estimate.seasons < least_trend_seasons) {
      estimate.unanswered =
          fmt::format("counted in {} seasons; a trend takes {}", years.size(), least_trend_seasons);
      return estimate;
    }
    estimate.first_year = *years.begin();
    estimate.last_year = *years.rbegin();
    if (!found) {
      estimate.unanswered = "none found in any season";
      return estimate;
    }
    try {
      fit(counts, estimate);
    } catch (const InputError& error) {
      estimate.unanswered = error.what();
    }
    return estimate;
  }

  void fit(const std::vector<Count>& counts, TrendEstimate& estimate) const {
    const double middle = 0.5 * (estimate.first_year + estimate.last_year);
    MixedModel model;
    model.fixed.assign(2, {});
    for (const Count& count : counts) {
      model.y.push_back(count.root);
      model.fixed[0].push_back(1);
      model.fixed[1].push_back(count.year - middle);
    }
    const std::vector<Effect> effects = effects_of(counts);
    for (const Effect& effect : effects) model.effects.push_back(effect.level);
    const MixedFit fit = fit_by_reml(model);
    if (!fit.settled) {
      estimate.unanswered = "the fit did not come to rest";
      return;
    }
    for (std::size_t k = 0; k < effects.size(); ++k)
      estimate.parts.push_back({effects[k].name, std::sqrt(fit.variances[k])});
    estimate.parts.push_back({"rest", std::sqrt(fit.residual)});
    estimate.middle = fit.fixed[0];
    estimate.slope = fit.fixed[1];
    estimate.standard_error = fit.standard_error[1];
    estimate.degrees_freedom = estimate.seasons - 2;
    estimate.limits =
        symmetric_limits(estimate.slope, estimate.standard_error, estimate.degrees_freedom, all_.confidence);
    estimate.trend = estimate.limits->high < 0  ? TrendWord::falling
                     : estimate.limits->low > 0 ? TrendWord::rising
                                                : TrendWord::no_clear_trend;
    if (!(estimate.middle > 0)) return;
    const auto percent = [&](double slope) {
      const double after = std::max(0.0, 1 + slope / estimate.middle);
      return 100 * (after * after - 1);
    };
    estimate.percent = percent(estimate.slope);
    estimate.percent_limits = LowHigh{percent(estimate.limits->low), percent(estimate.limits->high)};
  }

  std::vector<const EvaluatedSeason*> seasons_;
  PlotIdentities plots_;
  std::vector<std::vector<std::int32_t>> identities_;  ///< by season and unit
  SeasonTrend all_;
};

}  // namespace

const char* word(TrendWord trend) {
  switch (trend) {
    case TrendWord::not_known:
      return "not known";
    case TrendWord::no_clear_trend:
      return "no clear trend";
    case TrendWord::falling:
      return "falling";
    case TrendWord::rising:
      return "rising";
  }
  return "";
}

SeasonTrend trend_over(const std::vector<const EvaluatedSeason*>& seasons, double confidence, double moved_m,
                       Flags& flags) {
  return Trend(seasons, confidence, moved_m).work_out(flags);
}

}  // namespace swardline
