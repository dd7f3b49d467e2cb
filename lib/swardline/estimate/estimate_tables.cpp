#include <fmt/format.h>

#include <iterator>

#include "swardline/base/text.hpp"
#include "swardline/estimate/estimates.hpp"

namespace swardline {
namespace {

void number(std::string& line, double value) { fmt::format_to(std::back_inserter(line), "{:.9g}", value); }

void number(std::string& line, const std::optional<double>& value) {
  if (value) number(line, *value);
}

void text(std::string& line, const std::string& value) { line += csv_field(value); }

}  // namespace

std::string estimates_csv(const Estimates& estimates) {
  std::string out =
      "where,stratum,species,measure,value,standard_error,limit_low,limit_high,confidence_percent,limits_"
      "kind,"
      "plots,degrees_freedom,estimator,source\n";
  for (const EstimateRow& row : estimates.rows) {
    text(out, row.where);
    out += ',';
    text(out, row.stratum);
    out += ',';
    text(out, row.species);
    out += ',';
    text(out, row.measure);
    out += ',';
    number(out, row.value);
    out += ',';
    number(out, row.standard_error);
    out += ',';
    number(out, row.low);
    out += ',';
    number(out, row.high);
    out += ',';
    if (row.confidence_percent > 0) number(out, row.confidence_percent);
    out += ',';
    text(out, row.limits_kind);
    fmt::format_to(std::back_inserter(out), ",{},", row.plots);
    number(out, row.degrees_freedom);
    out += ',';
    text(out, row.estimator);
    out += ',';
    text(out, row.source);
    out += '\n';
  }
  return out;
}

}  // namespace swardline
