// Rows and notes of one species in one place.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/estimate/dispersion.hpp"
#include "swardline/estimate/rounding.hpp"
#include "swardline/estimate/season_parts.hpp"

namespace swardline::estimate_parts {
namespace {

constexpr double per_ha = 10'000;

/// Limits of a density or total as multiples of it.
struct Limited {
  std::optional<LowHigh> multiples;
  std::string kind, source;
};

Limited limits_of(const Combined& c, const Estimated& of, double confidence) {
  if (c.rare() && c.occupied >= 2)
    return {clumped_limits(c.counts, c.areas, c.all_area, confidence), "negative binomial likelihood",
            "White & Bennetts 1996"};
  if (c.rare()) {
    LowHigh limits = weighted_events_limits(c.expanded, c.heaviest, confidence);
    const double total = c.expanded.front();
    return {LowHigh{limits.low / total, limits.high / total}, "weighted events", "Fay & Feuer 1997"};
  }
  if (!(of.variance > 0) || !(of.df > 0)) return {};
  return {log_based_limits(1, of.standard_error() / of.value, of.df, confidence), "log-based",
          "Burnham et al. 1987"};
}

class PlaceRows {
 public:
  PlaceRows(const RowsOf& how, const PlaceOf& place, std::string species, Estimates& into)
      : how_(how), place_(place), species_(std::move(species)), into_(into) {}

  void add(const Combined& c, const std::string& names) {
    if (c.occupied == 0) {
      add_none(c, names);
      return;
    }
    const Limited limited = limits_of(c, c.density, how_.confidence);
    EstimateRow row = row_of(c, "stems per ha" + names);
    row.source = method_source() + (limited.source.empty() ? "" : "; limits " + limited.source);
    row.estimator = method() + variance_words(c.by_neighbourhood);
    row.source += variance_source(c.by_neighbourhood);
    fill(row, c.density, per_ha, limited);
    into_.rows.push_back(row);
    if (names.empty() && c.density.variance > 0) add_other_variance(c, row, limited);
    row.measure = "total stems" + names;
    fill(row, c.total, 1, limits_of(c, c.total, how_.confidence));
    into_.rows.push_back(row);
    if (names.empty() && how_.symmetric && c.density.variance > 0) add_symmetric(c, row);
    if (names.empty() && !c.all_accessible) {
      row.measure = "total stems on accessible land";
      row.estimator =
          method() + ", by the share of plots that could be counted" + variance_words(c.by_neighbourhood);
      fill(row, c.accessible, 1, limits_of(c, c.accessible, how_.confidence));
      into_.rows.push_back(row);
    }
    add_share(c, names);
  }

  void add_notes(const Combined& c) {
    if (c.plots == 0) return;
    if (c.occupied == 0 && place_.stratum < 0) note(none_found(c), false);
    // Over all sites every merging is met; a site's own would repeat it.
    if (!c.merged.empty() && c.occupied > 0 && &place_ == &how_.parts.places.front())
      note(fmt::format("one {} in {} ({}): for the standard error alone merged, as one stratum; the estimate "
                       "keeps them apart",
                       unit_word(*how_.parts.season, false),
                       c.merged.find(';') == c.merged.npos ? "a stratum" : "strata", c.merged),
           false);
    if (c.occupied > 0 && c.plots > 1 && !(c.total.variance > 0))
      note(fmt::format("all {} hold alike: no spread, so no standard error is given",
                       unit_word(*how_.parts.season)),
           false);
    if (!c.without.empty())
      note(fmt::format("one {}: no spread can be computed, so no standard error and no limits are given",
                       unit_word(*how_.parts.season, false)),
           false);
    if (c.occupied > 0 && place_.stratum < 0) {
      if (c.rare())
        note(rough(c), false);
      else if (c.too_narrow() && c.density.variance > 0)
        note(narrow(c), false);
    }
  }

 private:
  [[nodiscard]] EstimateRow row_of(const Combined& c, const std::string& measure) const {
    EstimateRow row;
    row.where = place_.where;
    if (place_.stratum >= 0) row.stratum = how_.parts.strata[std::size_t(place_.stratum)].of->id;
    row.species = species_;
    row.measure = measure;
    row.plots = c.plots;
    row.occupied = c.occupied;
    return row;
  }

  void fill(EstimateRow& row, const Estimated& value, double unit, const Limited& limited) const {
    row.value = value.value * unit;
    row.standard_error.reset();
    row.degrees_freedom.reset();
    row.low.reset();
    row.high.reset();
    row.limits_kind.clear();
    row.confidence_percent = 0;
    if (value.variance > 0) {
      row.standard_error = value.standard_error() * unit;
      row.degrees_freedom = value.df;
    }
    if (!limited.multiples) return;
    row.low = row.value * limited.multiples->low;
    row.high = row.value * limited.multiples->high;
    row.limits_kind = limited.kind;
    row.confidence_percent = 100 * how_.confidence;
  }

  void add_none(const Combined& c, const std::string& names) {
    const double alpha = (1 - how_.confidence) / 2;
    const double most = most_total_if_none(c.searched, alpha);
    EstimateRow row = row_of(c, "stems per ha" + names);
    row.low = 0;
    row.high = most / c.ground * per_ha;
    row.confidence_percent = 100 * (1 - alpha);
    row.limits_kind = "nothing found, if scattered at random";
    row.estimator = "-ln(alpha) × largest ground searched by a m²; more where plants are clumped";
    row.source = "Garwood 1936; Fay & Feuer 1997";
    into_.rows.push_back(row);
    row.measure = "total stems" + names;
    row.high = most;
    into_.rows.push_back(row);
    row.measure = "occupied share" + names;
    row.high = most_share_if_none(c.searched, alpha);
    row.limits_kind = "nothing found";
    row.estimator = "1 - alpha^(1/n)";
    row.source = "Clopper & Pearson 1934";
    into_.rows.push_back(row);
  }

  static const char* variance_words(bool by_neighbourhood) {
    return by_neighbourhood ? "; neighbourhood variance divided by 1 - sum of squared weights"
                            : "; stratified variance";
  }
  static const char* variance_source(bool by_neighbourhood) {
    return by_neighbourhood ? "; variance Stevens & Olsen 2003" : "";
  }

  void add_other_variance(const Combined& c, EstimateRow row, const Limited& limited) {
    const Estimated other{c.density.value, c.other_variance, c.density.df};
    row.beside = true;
    row.estimator = method() + variance_words(!c.by_neighbourhood);
    row.source = method_source() + variance_source(!c.by_neighbourhood);
    Limited own = limited;
    if (limited.kind == "log-based" && other.variance > 0 && other.df > 0)
      own.multiples = log_based_limits(1, other.standard_error() / other.value, other.df, how_.confidence);
    fill(row, other, per_ha, own);
    into_.rows.push_back(row);
  }

  void add_symmetric(const Combined& c, EstimateRow row) {
    row.source = method_source() + variance_source(c.by_neighbourhood) + "; limits Student's t";
    const std::pair<const Estimated&, double> both[] = {{c.density, per_ha}, {c.total, 1}};
    for (const auto& [value, unit] : both) {
      fill(row, value, unit, {});
      if (!row.standard_error || !(value.df > 0)) continue;
      const LowHigh limits =
          symmetric_limits(row.value, *row.standard_error, *row.degrees_freedom, how_.confidence);
      row.measure = unit > 1 ? "stems per ha" : "total stems";
      row.low = limits.low;
      row.high = limits.high;
      row.limits_kind = "symmetric";
      row.confidence_percent = 100 * how_.confidence;
      into_.rows.push_back(row);
    }
  }

  void add_share(const Combined& c, const std::string& names) {
    EstimateRow row = row_of(c, "occupied share" + names);
    const double p = std::min(1.0, c.share.value), n = c.plots;
    row.value = p;
    double told_by = n;  // simple random plots that would tell as much
    if (c.share.variance > 0 && n > 1) {
      row.standard_error = c.share.standard_error();
      told_by = p * (1 - p) / c.share.variance * n / (n - 1);
    }
    const LowHigh limits = wilson_limits(p * told_by, told_by, how_.confidence);
    row.low = limits.low;
    row.high = limits.high;
    row.limits_kind = "Wilson";
    row.confidence_percent = 100 * how_.confidence;
    row.estimator = fmt::format("share of {} with stems, strata weighted by ground; for this plot size only",
                                unit_word(*how_.parts.season));
    row.source = "Cochran 1977, ch. 5; limits Wilson 1927";
    into_.rows.push_back(row);
  }

  [[nodiscard]] std::string method() const {
    const EvaluatedSeason& season = *how_.parts.season;
    std::string words = place_.domain() ? "one ratio over strata, as a domain" : "ratio of totals by stratum";
    if (season.weighted) words += ", weighted by 1 / chance (Hájek)";
    if (season.unit == SampleUnit::transect) return words + ", the transect as unit";
    switch (season.edge) {
      case EdgeRule::walk_through:
        return words + ", walk-through";
      case EdgeRule::fold_back:
        return words + ", fold-back";
      case EdgeRule::grown_frame:
        return words + ", grown frame";
      case EdgeRule::inner_margin:
        return words + ", of the ground inside the margin";
      case EdgeRule::inside_area:
        return words + ", inside area: too low where plants love edges";
    }
    return words;
  }

  [[nodiscard]] std::string method_source() const {
    std::string source = place_.domain() ? "Cochran 1977, ch. 5A and 6" : "Cochran 1977, ch. 5 and 6";
    if (how_.parts.season->weighted) source += "; Hájek 1971";
    if (how_.parts.season->unit == SampleUnit::plot) {
      if (how_.parts.season->edge == EdgeRule::walk_through) source += "; Ducey, Gove & Valentine 2004";
      if (how_.parts.season->edge == EdgeRule::fold_back) source += "; Gregoire & Monkevich 1994";
    }
    return source + "; df Satterthwaite 1946";
  }

  [[nodiscard]] std::string none_found(const Combined& c) const {
    const double alpha = (1 - how_.confidence) / 2;
    return fmt::format(
        "none found in {} {}; up to {} % of {} could hold it; under {}/ha if scattered at random, "
        "possibly more if clumped ({} %, one-sided)",
        grouped(c.plots), unit_word(*how_.parts.season, c.plots != 1),
        said_multiple(100 * most_share_if_none(c.searched, alpha)), unit_word(*how_.parts.season),
        said_multiple(most_total_if_none(c.searched, alpha) / c.ground * per_ha),
        shortest(std::round(1e6 * (1 - alpha)) / 1e4));
  }

  /// Limits of few occupied plots among many are wide on purpose.
  [[nodiscard]] std::string rough(const Combined& c) const {
    return fmt::format("limits rough: {} occupied {}", c.occupied,
                       unit_word(*how_.parts.season, c.occupied != 1));
  }

  [[nodiscard]] std::string narrow(const Combined& c) const {
    std::vector<std::string> why;
    if (c.few())
      why.push_back(fmt::format("{} occupied {}, fewer than ten", c.occupied,
                                unit_word(*how_.parts.season, c.occupied != 1)));
    if (c.largest > 0.25)
      why.push_back(fmt::format("one {} holds {:.0f} % of the total", unit_word(*how_.parts.season, false),
                                100 * c.largest));
    return fmt::format("limits too narrow: {}", fmt::join(why, ", and "));
  }

  void note(const std::string& text, bool needs_person) {
    std::string where = place_.where;
    if (place_.stratum >= 0) where = how_.parts.strata[std::size_t(place_.stratum)].of->id;
    into_.notes.push_back({where, species_, text, needs_person});
  }

  const RowsOf& how_;
  const PlaceOf& place_;
  std::string species_;
  Estimates& into_;
};

}  // namespace

void add_rows(const RowsOf& how, const PlaceOf& place, const std::string& species, const Combined& sure,
              const Combined* with_not_certain, Estimates& into) {
  if (sure.plots == 0) return;
  PlaceRows rows(how, place, species, into);
  rows.add(sure, "");
  if (with_not_certain != nullptr) rows.add(*with_not_certain, ", sure + not certain");
  rows.add_notes(sure);
}

void add_dispersion(const RowsOf& how, const PlaceOf& place, const std::string& species,
                    const StratumSample& sample, Estimates& into) {
  const auto [least, most] = std::minmax_element(sample.a.begin(), sample.a.end());
  if (sample.n() < 2 || sample.occupied == 0 || *most > *least * 1.001) return;
  const Dispersion d = dispersion_of(sample.y);
  EstimateRow row;
  row.where = place.where;
  row.stratum = how.parts.strata[std::size_t(place.stratum)].of->id;
  row.species = species;
  row.measure = "variance to mean ratio";
  row.value = d.ratio;
  row.plots = d.plots;
  row.occupied = sample.occupied;
  row.estimator = "variance / mean of counts on plots of one size; 1 at random";
  row.source = "Bliss & Fisher 1953";
  into.rows.push_back(row);
  if (!d.k_by_moments) return;
  row.measure = "negative binomial k";
  row.value = *d.k_by_moments;
  row.estimator = "by moments, mean² / (variance - mean)";
  into.rows.push_back(row);
}

}  // namespace swardline::estimate_parts
