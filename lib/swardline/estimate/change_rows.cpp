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

struct Row {
  std::string measure;
  std::optional<double> value, standard_error;
  std::optional<ChangeLimits> limits;
  const char* kind = "";
  int plots = 0;
  std::optional<double> degrees_freedom;
  const char* estimator = "";
  const char* source = "";
};

class Rows {
 public:
  explicit Rows(const SeasonChange& change) : all_(change) {}

  std::string text() {
    for (const ChangeEstimate& estimate : all_.estimates) of(estimate);
    return std::move(out_);
  }

 private:
  void of(const ChangeEstimate& estimate) {
    const PairedChange& paired = estimate.paired;
    if (paired.pairs > 0) {
      const auto same = [&](int year, double value) {
        add(estimate, {fmt::format("density on the same plots, {}", year),
                       value,
                       {},
                       {},
                       "",
                       paired.pairs,
                       {},
                       "ratio of totals, by strata",
                       "Cochran 1977, ch. 6"});
      };
      same(all_.earlier_year, paired.then);
      same(all_.later_year, paired.now);
      std::optional<double> df;
      if (paired.standard_error) df = paired.degrees_freedom;
      add(estimate, {"change in density", paired.change, paired.standard_error, estimate.limits,
                     estimate.limits ? "t" : "", paired.pairs, df, paired_method, paired_source});
      if (estimate.ratio) {
        std::optional<double> se;
        if (paired.se_log_ratio) se = *estimate.ratio * *paired.se_log_ratio;
        add(estimate, {"ratio of densities", estimate.ratio, se, estimate.ratio_limits,
                       estimate.ratio_limits ? "log-based" : "", paired.pairs,
                       paired.se_log_ratio ? std::optional(paired.log_ratio_df) : std::nullopt,
                       "ratio of densities on the same plots", "Cochran 1977, ch. 6; Fieller 1954"});
      }
      if (estimate.shared_m2 > 0)
        add(estimate, {"change in stems on shared ground",
                       estimate.stems,
                       estimate.stems_se,
                       {},
                       "",
                       paired.pairs,
                       df,
                       paired_method,
                       paired_source});
    }
    ground(estimate, estimate.gained, "stems on ground gained");
    ground(estimate, estimate.lost, "stems on ground lost");
    if (!estimate.composite) return;
    const CompositeChange& composite = *estimate.composite;
    add(estimate,
        {"change in density, all plots", composite.change, composite.standard_error, composite.limits, "t",
         paired.pairs + composite.only_then + composite.only_now, composite.degrees_freedom,
         "composite of plots with and without a partner", "Cochran 1977, ch. 12; Patterson 1950"});
  }

  void ground(const ChangeEstimate& estimate, const OneSeasonGround& ground, const char* measure) {
    if (!(ground.area_m2 > 0) || ground.plots == 0) return;
    add(estimate, {measure,
                   ground.stems,
                   ground.standard_error,
                   {},
                   "",
                   ground.plots,
                   {},
                   "ratio of totals, by strata",
                   "Cochran 1977, ch. 6"});
  }

  void add(const ChangeEstimate& estimate, const Row& row) {
    std::optional<double> low, high;
    if (row.limits) low = row.limits->low;
    if (row.limits) high = row.limits->high;
    out_ +=
        fmt::format("{},{},{},{},{},{},{},{},{},{},{},{},{},{}\n", csv_field(estimate.where),
                    csv_field(estimate.stratum), csv_field(estimate.species),
                    csv_field(row.measure + (estimate.with_not_certain ? ", sure + not certain" : "")),
                    cell(row.value), cell(row.standard_error), cell(low), cell(high),
                    row.limits ? shortest(100 * all_.options.confidence) : std::string(), row.kind, row.plots,
                    cell(row.degrees_freedom), csv_field(row.estimator), csv_field(row.source));
  }

  const SeasonChange& all_;
  std::string out_;
};

std::string json_of(const std::optional<double>& value) {
  return value ? json_number(*value) : std::string("null");
}

std::string json_of(const std::optional<ChangeLimits>& limits) {
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

std::string change_csv(const SeasonChange& change) { return Rows(change).text(); }

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
