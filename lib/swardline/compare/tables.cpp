// A comparison as comma-separated tables.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace swardline {
namespace {

constexpr const char* of_share = "design-weighted share; Wilson 1927 with (Σw)²/Σw² plots (Kish 1965)";
constexpr const char* of_density =
    "ratio of design-weighted totals as a domain (Cochran 1977, 5A.14 and 6.11); df Satterthwaite";
constexpr const char* of_upper = "design-weighted quantile of plots' densities";
constexpr const char* of_pairs =
    "area under the ROC curve, design-weighted, ties half; variance linearised by stratum";
constexpr const char* of_plain_pairs = "area under the ROC curve, ties half; Hanley & McNeil 1982";
constexpr const char* of_ratio = "continuous ratio index, moving window; Hirzel et al. 2006";
constexpr const char* of_ranks =
    "Spearman, design-weighted mid-ranks; limits Fieller, Hartley & Pearson 1957";
constexpr const char* of_line = "linear quantile regression; Koenker & Bassett 1978, Cade & Noon 2003";

std::string number(double value) {
  return std::isfinite(value) ? fmt::format("{:.6g}", value) : std::string();
}
std::string number(const std::optional<double>& value) { return value ? number(*value) : std::string(); }

struct Row {
  std::string about, part, measure, value, standard_error, low, high, plots, occupied, proposed, method;
  std::string confidence = {};  ///< percent, where it is not the comparison's
};

class Rows {
 public:
  Rows(const std::string& species, double confidence)
      : species_(csv_field(species)), confidence_(percent_word(confidence)) {}
  void add(const Row& row) {
    const bool limits = !row.low.empty() || !row.high.empty();
    text_ += fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{}\n", species_, csv_field(row.about),
                         csv_field(row.part), csv_field(row.measure), row.value, row.standard_error, row.low,
                         row.high, limits ? row.confidence.empty() ? confidence_ : row.confidence : "",
                         row.plots, row.occupied, row.proposed, csv_field(row.method));
  }
  [[nodiscard]] const std::string& text() const { return text_; }

 private:
  std::string species_, confidence_, text_;
};

void add_part(const std::string& about, const ComparedPart& part, const ComparedPart* then, double confidence,
              Rows& rows) {
  const std::string plots = std::to_string(part.plots), occupied = std::to_string(part.occupied);
  Row share{about,    part.what, "occupied share", number(part.share), "", "", "", plots,
            occupied, "",        of_share};
  if (part.share_limits) {
    share.low = number(part.share_limits->low);
    share.high = number(part.share_limits->high);
  }
  Row density{about,
              part.what,
              "stems per hectare",
              number(part.per_ha),
              number(part.standard_error),
              "",
              "",
              plots,
              occupied,
              "",
              of_density};
  if (part.plots > 0) density.method += fmt::format("; limits {}", part.limits_kind);
  if (part.limits) {
    density.low = number(part.limits->low);
    density.high = number(part.limits->high);
  }
  if (!(part.standard_error > 0)) density.standard_error.clear();
  if (part.occupied == 0) density.confidence = percent_word((1 + confidence) / 2);
  if (then != nullptr) {
    share.proposed = number(then->share);
    density.proposed = number(then->per_ha);
    rows.add({about, part.what, "plots", plots, "", "", "", plots, occupied, std::to_string(then->plots),
              "counted"});
  }
  rows.add(share);
  rows.add(density);
  rows.add({about, part.what, "upper quantile of stems per hectare", number(part.upper_per_ha), "", "", "",
            plots, occupied, "", of_upper});
  if (!std::isnan(part.response))
    rows.add({about, part.what, "response", number(part.response), "", "", "", plots, occupied, "",
              "the rule's, weighted mean"});
}

void add_indices(const Comparison& comparison, const SpeciesComparison& species, Rows& rows) {
  const std::string plots = std::to_string(species.compared), occupied = std::to_string(species.occupied);
  const ProposedEffect* effect = species.effect ? &*species.effect : nullptr;
  if (species.pairs) {
    Row row{"index",
            "all",
            "pairs in order",
            number(species.pairs->value),
            species.pairs->variance > 0 ? number(species.pairs->standard_error()) : "",
            "",
            "",
            plots,
            occupied,
            "",
            of_pairs};
    if (species.pairs->df > 0) {
      const LowHigh limits = symmetric_limits(species.pairs->value, species.pairs->standard_error(),
                                              species.pairs->df, comparison.confidence);
      row.low = number(std::max(0.0, limits.low));
      row.high = number(std::min(1.0, limits.high));
    }
    if (effect != nullptr && effect->pairs) row.proposed = number(effect->pairs->value);
    rows.add(row);
  }
  if (species.plain_pairs)
    rows.add({"index", "all", "pairs in order, plots alike", number(species.plain_pairs->share),
              species.plain_pairs->standard_error > 0 ? number(species.plain_pairs->standard_error) : "", "",
              "", plots, occupied, "", of_plain_pairs});
  if (species.ratio.index)
    rows.add({"index", "all", "ratio index", number(species.ratio.index), "", "", "", plots, occupied,
              effect != nullptr ? number(effect->ratio_index) : std::string(), of_ratio});
  if (species.agreement)
    rows.add({"index", "all", "rank agreement of score and density", number(species.agreement), "",
              number(species.agreement_limits.low), number(species.agreement_limits.high), plots, occupied,
              effect != nullptr ? number(effect->agreement) : std::string(), of_ranks});
}

void add_factor(const FactorAlong& factor, double confidence, Rows& rows) {
  const std::string about = "factor " + factor.layer;
  for (const ComparedPart& part : factor.parts) add_part(about, part, nullptr, confidence, rows);
  const auto line = [&](const std::optional<QuantileLine>& upper, const char* along) {
    if (!upper) return;
    rows.add({about, "all", fmt::format("upper line along the {}: at 0", along), number(upper->at_zero), "",
              "", "", "", "", "", of_line});
    rows.add({about, "all", fmt::format("upper line along the {}: slope", along), number(upper->slope), "",
              "", "", "", "", "", of_line});
  };
  line(factor.upper, "response");
  line(factor.upper_by_value, "value");
  if (factor.agreement)
    rows.add({about, "all", "rank agreement of response and density", number(factor.agreement), "",
              number(factor.agreement_limits.low), number(factor.agreement_limits.high), "", "", "",
              of_ranks});
}

std::string csv_of(const Comparison& comparison, const SpeciesComparison& species) {
  Rows rows(species.code, comparison.confidence);
  const bool tried = species.effect.has_value();
  for (std::size_t i = 0; i < species.bands.parts.size(); ++i)
    add_part("score", species.bands.parts[i], tried ? &species.effect->bands[i] : nullptr,
             comparison.confidence, rows);
  for (const ComparedPart* part : {&species.bands.excluded, &species.bands.no_score})
    if (part->plots > 0) add_part("no number", *part, nullptr, comparison.confidence, rows);
  add_indices(comparison, species, rows);
  for (const FactorAlong& factor : species.factors) add_factor(factor, comparison.confidence, rows);
  if (tried) {
    const ProposedEffect& effect = *species.effect;
    const auto count = [&](const char* measure, int value) {
      rows.add({"proposed sheet", effect.change, measure, std::to_string(value), "", "", "",
                std::to_string(species.compared), std::to_string(species.occupied), "", "counted"});
    };
    count("occupied plots that rise", effect.occupied_rise);
    count("occupied plots that fall", effect.occupied_fall);
    count("empty plots that rise", effect.empty_rise);
    count("empty plots that fall", effect.empty_fall);
    count("false lows then", effect.false_lows);
    count("false highs then", effect.false_highs);
  }
  return rows.text();
}

int order_of(const std::string& finding) {
  return finding == "false low" ? 0 : finding == "false high" ? 1 : finding == "compared" ? 2 : 3;
}

std::string plot_row(const Comparison& comparison, const SpeciesComparison& species, const Sheet& sheet,
                     const EvaluatedSeason& counted, const PlotAndScore& plot) {
  const ComparedPlot& place = comparison.plots[plot.plot];
  const EvaluatedUnit& unit = counted.units[place.unit];
  std::string responses;
  for (std::size_t f = 0; f < sheet.factors.size(); ++f)
    if (!std::isnan(plot.responses[f]))
      responses += fmt::format("{}{} {:.2f}", responses.empty() ? "" : "; ", sheet.factors[f].layer,
                               plot.responses[f]);
  const std::string raised = [&] {
    for (const MisfitGroup& group : species.false_lows)
      for (const Misfit& one : group.plots)
        if (&species.plots[one.plot] == &plot && one.raised_by)
          return fmt::format("{},{:.4f}", csv_field(sheet.factors[*one.raised_by].layer), one.raised_to);
    return std::string(",");
  }();
  return fmt::format(
      "{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", csv_field(species.code),
      csv_field(unit.name), csv_field(unit.site), csv_field(unit.stratum),
      csv_field(finding_of(species, plot)), number(plot.score), number(plot.over_plot), number(plot.over_fix),
      plot.held_down_by ? csv_field(sheet.factors[*plot.held_down_by].layer) : "", csv_field(responses),
      raised, species.effect ? number(plot.score_then) : "", number(plot.stems), number(plot.not_certain),
      number(plot.area_m2), number(plot.per_ha()), number(plot.weight_m2), number(unit.fix_accuracy_m),
      number(place.fix_distance_m));
}

}  // namespace

std::string finding_of(const SpeciesComparison& species, const PlotAndScore& plot) {
  switch (plot.use) {
    case PlotUse::excluded:
      return "excluded: " + plot.reason;
    case PlotUse::no_score:
      return "no score: " + plot.reason;
    case PlotUse::set_aside:
    case PlotUse::not_certain:
      return "set aside: " + plot.reason;
    case PlotUse::compared:
      break;
  }
  if (plot.occupied() && plot.score < species.low) return "false low";
  if (!plot.occupied() && plot.score >= species.high) return "false high";
  return "compared";
}

std::string compare_csv(const Comparison& comparison) {
  std::string text =
      "species,about,part,measure,value,standard_error,limit_low,limit_high,confidence_percent,plots,"
      "occupied,"
      "proposed,method\n";
  for (const SpeciesComparison& species : comparison.species) text += csv_of(comparison, species);
  return text;
}

std::string compare_plots_csv(const Comparison& comparison, const Season& season,
                              const EvaluatedSeason& counted) {
  std::string text =
      "species,plot,site,stratum,finding,score,score_over_plot,score_over_fix,held_down_by,responses,raised_"
      "by,"
      "raised_to,score_proposed,stems,stems_not_certain,area_m2,stems_per_ha,weight_m2,fix_accuracy_m,"
      "fix_distance_m\n";
  for (const SpeciesComparison& species : comparison.species) {
    std::vector<const PlotAndScore*> order;
    for (const PlotAndScore& plot : species.plots) order.push_back(&plot);
    std::stable_sort(order.begin(), order.end(), [&](const PlotAndScore* a, const PlotAndScore* b) {
      return order_of(finding_of(species, *a)) < order_of(finding_of(species, *b));
    });
    for (const PlotAndScore* plot : order)
      text += plot_row(comparison, species, season.sheets[species.sheet], counted, *plot);
  }
  return text;
}

}  // namespace swardline
