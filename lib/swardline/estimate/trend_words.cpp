// A trend in words, as rows of estimates.csv and as JSON.
#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/estimate/change_numbers.hpp"
#include "swardline/estimate/trend.hpp"

namespace swardline {
namespace {

using namespace change_parts;

constexpr const char* method =
    "square root of stems per plot over years, random site, stratum, year and plot, REML; seasons - 2 df";
constexpr const char* source = "Urquhart & Kincaid 1999; Piepho & Ogutu 2002";

std::string of(const TrendEstimate& estimate, double confidence) {
  std::string out = fmt::format("{}, {}: ", estimate.species, estimate.where);
  if (!estimate.unanswered.empty()) return out + fmt::format("no trend: {}.\n", estimate.unanswered);
  if (estimate.percent) {
    const int decimals = decimals_of((estimate.percent_limits->high - estimate.percent_limits->low) / 4);
    out += fmt::format("{} % a year in the middle of {} to {} ({:.3g} % {} to {})",
                       with_sign(*estimate.percent, decimals), estimate.first_year, estimate.last_year,
                       100 * confidence, with_sign(estimate.percent_limits->low, decimals),
                       with_sign(estimate.percent_limits->high, decimals));
  } else {
    out += fmt::format("slope {} a year", with_sign(estimate.slope, decimals_of(estimate.standard_error)));
  }
  out += fmt::format(", {} seasons, {} plots, {} counts: {}.\n", estimate.seasons, grouped(estimate.plots),
                     grouped(estimate.counts), word(estimate.trend));
  std::vector<std::string> parts;
  for (const TrendPart& part : estimate.parts) parts.push_back(fmt::format("{} {:.2g}", part.of, part.sd));
  const int decimals = decimals_of(estimate.standard_error);
  return out +
         fmt::format(
             "  Slope of the square root of stems per plot {} (standard error {:.{}f}, {:.0f} degrees of "
             "freedom: seasons less two); standard deviations: {}.\n",
             with_sign(estimate.slope, decimals), estimate.standard_error, decimals, estimate.degrees_freedom,
             in_words(parts));
}

std::string trend_json(const std::optional<LowHigh>& limits) {
  return limits ? fmt::format("[{}, {}]", json_number(limits->low), json_number(limits->high))
                : std::string("null");
}

std::string trend_json(const TrendEstimate& estimate) {
  std::vector<std::string> parts;
  for (const TrendPart& part : estimate.parts)
    parts.push_back(fmt::format("{}: {}", json_quote(part.of), json_number(part.sd)));
  return fmt::format(
      "{{\"where\": {}, \"species\": {}, \"seasons\": {}, \"first_year\": {}, \"last_year\": {}, \"plots\": "
      "{}, "
      "\"counts\": {}, \"slope\": {}, \"standard_error\": {}, \"degrees_freedom\": {}, \"limits\": {}, "
      "\"percent_a_year\": {}, \"percent_limits\": {}, \"standard_deviations\": {{{}}}, \"in_words\": {}, "
      "\"unanswered\": {}}}",
      json_quote(estimate.where), json_quote(estimate.species), estimate.seasons, estimate.first_year,
      estimate.last_year, estimate.plots, estimate.counts, json_number(estimate.slope),
      json_number(estimate.standard_error), json_number(estimate.degrees_freedom),
      trend_json(estimate.limits), estimate.percent ? json_number(*estimate.percent) : "null",
      trend_json(estimate.percent_limits), fmt::join(parts, ", "), json_quote(word(estimate.trend)),
      json_quote(estimate.unanswered));
}

}  // namespace

std::string in_words(const SeasonTrend& trend) {
  if (!trend.refused.empty()) return trend.refused;
  std::string out =
      fmt::format("Trend over {} seasons ({}), per plot of {} m², every plot alike.\n", trend.years.size(),
                  fmt::join(trend.years, ", "), shortest(trend.unit_area_m2));
  for (const TrendEstimate& estimate : trend.estimates) out += of(estimate, trend.confidence);
  out.pop_back();
  return out;
}

std::vector<EstimateRow> trend_rows(const SeasonTrend& trend) {
  std::vector<EstimateRow> rows;
  const auto add = [&](const TrendEstimate& of, const char* measure, double value, const LowHigh& limits) {
    EstimateRow& row = rows.emplace_back();
    row.where = of.where;
    row.species = of.species;
    row.measure = measure;
    row.value = value;
    row.low = limits.low;
    row.high = limits.high;
    row.confidence_percent = 100 * trend.confidence;
    row.limits_kind = "symmetric";
    row.plots = of.plots;
    row.degrees_freedom = of.degrees_freedom;
    row.estimator = method;
    row.source = source;
  };
  for (const TrendEstimate& estimate : trend.estimates) {
    if (!estimate.unanswered.empty()) continue;
    add(estimate, "trend of the square root of stems per plot, a year", estimate.slope, *estimate.limits);
    rows.back().standard_error = estimate.standard_error;
    if (!estimate.percent) continue;
    add(estimate, "trend, percent a year", *estimate.percent, *estimate.percent_limits);
    rows.back().limits_kind = "symmetric, on the root";
  }
  return rows;
}

std::string to_json(const SeasonTrend& trend) {
  std::string text =
      fmt::format("{{\n  \"years\": [{}], \"confidence\": {}, \"refused\": {},\n  \"estimates\": [",
                  fmt::join(trend.years, ", "), json_number(trend.confidence), json_quote(trend.refused));
  for (std::size_t i = 0; i < trend.estimates.size(); ++i)
    text += fmt::format("{}\n    {}", i == 0 ? "" : ",", trend_json(trend.estimates[i]));
  return text + "\n  ]\n}";
}

}  // namespace swardline
