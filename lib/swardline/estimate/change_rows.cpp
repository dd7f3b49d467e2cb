// A change as rows of estimates.csv and as JSON.
#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/estimate/change.hpp"
#include "swardline/estimate/change_numbers.hpp"

namespace swardline {
namespace {

using namespace change_parts;

constexpr const char* paired_method = "difference of ratios of totals on the same plots, by strata";
constexpr const char* paired_source = "Cochran 1977, ch. 5 and 6; Satterthwaite 1946";

constexpr double per_ha = 1e4;

class Rows {
 public:
  explicit Rows(const SeasonChange& change) : all_(change) {}

  std::vector<EstimateRow> rows() {
    for (const ChangeEstimate& estimate : all_.estimates) of(estimate);
    return std::move(rows_);
  }

 private:
  void of(const ChangeEstimate& estimate) {
    if (estimate.paired.pairs > 0) pairs(estimate);
    ground(estimate, estimate.gained, "stems on ground gained");
    ground(estimate, estimate.lost, "stems on ground lost");
    if (!estimate.composite) return;
    const CompositeChange& composite = *estimate.composite;
    EstimateRow& row = add(estimate, "change in stems per ha, all plots", per_ha * composite.change,
                           estimate.paired.pairs + composite.only_then + composite.only_now,
                           "composite of plots with and without a partner, weighted by variance",
                           "Cochran 1977, ch. 12; Patterson 1950");
    row.standard_error = per_ha * composite.standard_error;
    row.degrees_freedom = composite.degrees_freedom;
    limits(row, composite.limits, per_ha, "symmetric");
  }

  void pairs(const ChangeEstimate& estimate) {
    const PairedChange& paired = estimate.paired;
    const auto same = [&](int year, double value) {
      add(estimate, fmt::format("stems per ha on the same plots, {}", year), per_ha * value, paired.pairs,
          "ratio of totals, by strata", "Cochran 1977, 6.10");
    };
    same(all_.earlier_year, paired.then);
    same(all_.later_year, paired.now);
    EstimateRow& change = add(estimate, "change in stems per ha", per_ha * paired.change, paired.pairs,
                              paired_method, paired_source);
    errors(change, paired, per_ha);
    if (estimate.limits) limits(change, *estimate.limits, per_ha, "symmetric");
    if (estimate.ratio) {
      EstimateRow& ratio = add(estimate, "ratio of densities", *estimate.ratio, paired.pairs,
                               "ratio of densities on the same plots", "Cochran 1977, ch. 6; Fieller 1954");
      if (paired.standard_error) ratio.degrees_freedom = paired.degrees_freedom;
      if (estimate.ratio_limits) limits(ratio, *estimate.ratio_limits, 1, "Fieller");
    }
    if (estimate.shared_m2 > 0) {
      EstimateRow& stems = add(estimate, "change in stems on shared ground", estimate.stems, paired.pairs,
                               paired_method, paired_source);
      stems.standard_error = estimate.stems_se;
      if (paired.standard_error) stems.degrees_freedom = paired.degrees_freedom;
    }
  }

  static void errors(EstimateRow& row, const PairedChange& paired, double times) {
    if (!paired.standard_error) return;
    row.standard_error = times * *paired.standard_error;
    row.degrees_freedom = paired.degrees_freedom;
  }

  void limits(EstimateRow& row, const LowHigh& limits, double times, const char* kind) const {
    row.low = times * limits.low;
    row.high = times * limits.high;
    row.confidence_percent = 100 * all_.options.confidence;
    row.limits_kind = kind;
  }

  void ground(const ChangeEstimate& estimate, const OneSeasonGround& ground, const char* measure) {
    if (!(ground.area_m2 > 0) || ground.plots == 0) return;
    add(estimate, measure, ground.stems, ground.plots, "ratio of totals, by strata", "Cochran 1977, 6.10")
        .standard_error = ground.standard_error;
  }

  EstimateRow& add(const ChangeEstimate& estimate, std::string measure, double value, int plots,
                   const char* estimator, const char* source) {
    EstimateRow& row = rows_.emplace_back();
    row.where = estimate.where;
    row.stratum = estimate.stratum;
    row.species = estimate.species;
    row.measure = std::move(measure);
    if (estimate.with_not_certain) row.measure += ", sure + not certain";
    row.value = value;
    row.plots = plots;
    row.occupied = estimate.occupied_pairs;
    row.estimator = estimator;
    row.source = source;
    return row;
  }

  const SeasonChange& all_;
  std::vector<EstimateRow> rows_;
};

std::string json_of(const std::optional<double>& value) {
  return value ? json_number(*value) : std::string("null");
}

std::string json_of(const std::optional<LowHigh>& limits) {
  return limits ? fmt::format("[{}, {}]", json_number(limits->low), json_number(limits->high))
                : std::string("null");
}

std::string json_of(const OneSeasonGround& ground) {
  return fmt::format("{{\"area_m2\": {}, \"plots\": {}, \"stems\": {}, \"standard_error\": {}}}",
                     json_number(ground.area_m2), ground.plots, json_number(ground.stems),
                     json_of(ground.standard_error));
}

std::string json_of(const ChangeEstimate& estimate) {
  const PairedChange& paired = estimate.paired;
  std::string text = fmt::format(
      "{{\"where\": {}, \"stratum\": {}, \"species\": {}, \"with_not_certain\": {}, \"pairs\": {}, "
      "\"density_then\": {}, \"density_now\": {}, \"change\": {}, \"standard_error\": {}, "
      "\"degrees_freedom\": {}, \"limits\": {}, \"ratio\": {}, \"ratio_limits\": {}, \"in_words\": {}, ",
      json_quote(estimate.where), json_quote(estimate.stratum), json_quote(estimate.species),
      estimate.with_not_certain, paired.pairs, json_number(paired.then), json_number(paired.now),
      json_number(paired.change), json_of(paired.standard_error), json_number(paired.degrees_freedom),
      json_of(estimate.limits), json_of(estimate.ratio), json_of(estimate.ratio_limits),
      json_quote(word(estimate.change)));
  text += fmt::format(
      "\"shared_m2\": {}, \"without_pairs_m2\": {}, \"change_in_stems\": {}, \"gained\": {}, \"lost\": {}",
      json_number(estimate.shared_m2), json_number(estimate.without_pairs_m2), json_number(estimate.stems),
      json_of(estimate.gained), json_of(estimate.lost));
  if (estimate.composite)
    text += fmt::format(
        ", \"composite\": {{\"change\": {}, \"standard_error\": {}, \"degrees_freedom\": {}, \"limits\": {}, "
        "\"only_then\": {}, \"only_now\": {}, \"gain\": {}}}",
        json_number(estimate.composite->change), json_number(estimate.composite->standard_error),
        json_number(estimate.composite->degrees_freedom), json_of(std::optional(estimate.composite->limits)),
        estimate.composite->only_then, estimate.composite->only_now, json_number(estimate.composite->gain));
  if (estimate.needed)
    text += fmt::format(", \"pairs_needed\": {{\"change\": {}, \"by_formula\": {}, \"by_test\": {}}}",
                        json_number(estimate.needed->change), estimate.needed->by_formula,
                        estimate.needed->by_test);
  std::vector<std::string> cautions;
  for (const std::string& caution : estimate.caution) cautions.push_back(json_quote(caution));
  return text + fmt::format(", \"caution\": [{}]}}", fmt::join(cautions, ", "));
}

}  // namespace

std::vector<EstimateRow> change_rows(const SeasonChange& change) { return Rows(change).rows(); }

std::string to_json(const SeasonChange& change) {
  std::string text = fmt::format(
      "{{\n  \"earlier\": {}, \"later\": {}, \"earlier_year\": {}, \"later_year\": {}, \"confidence\": {},\n "
      " "
      "\"estimates\": [",
      json_quote(change.earlier_name), json_quote(change.later_name), change.earlier_year, change.later_year,
      json_number(change.options.confidence));
  for (std::size_t i = 0; i < change.estimates.size(); ++i)
    text += fmt::format("{}\n    {}", i == 0 ? "" : ",", json_of(change.estimates[i]));
  text += "\n  ],\n  \"plots\": [";
  for (std::size_t i = 0; i < change.plots.size(); ++i)
    text += fmt::format("{}\n    {{\"plot\": {}, \"site\": {}, \"matching\": {}, \"why\": {}}}",
                        i == 0 ? "" : ",", json_quote(change.names[i]), json_quote(change.sites[i]),
                        json_quote(word(change.plots[i].matching)), json_quote(change.plots[i].why));
  return text + "\n  ]\n}";
}

}  // namespace swardline
