#include <fmt/format.h>

#include <iterator>
#include <map>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/text.hpp"
#include "swardline/estimate/estimates.hpp"

namespace swardline {
namespace {

void number(std::string& line, double value) { fmt::format_to(std::back_inserter(line), "{:.9g}", value); }

void number(std::string& line, const std::optional<double>& value) {
  if (value) number(line, *value);
}

void text(std::string& line, const std::string& value) { line += csv_field(value); }

/// An object of JSON on one line; what is empty or not known is left out.
class Object {
 public:
  explicit Object(std::string& out) : out_(out) { out_ += '{'; }
  ~Object() { out_ += '}'; }
  Object(const Object&) = delete;
  Object& operator=(const Object&) = delete;
  void text(const char* name, const std::string& value) {
    if (value.empty()) return;
    key(name);
    out_ += json_quote(value);
  }
  void real(const char* name, const std::optional<double>& value) {
    if (!value) return;
    key(name);
    number(out_, *value);
  }
  void whole(const char* name, long long value) {
    key(name);
    out_ += std::to_string(value);
  }
  void yes(const char* name, bool value) {
    key(name);
    out_ += value ? "true" : "false";
  }

 private:
  void key(const char* name) {
    if (!first_) out_ += ", ";
    first_ = false;
    fmt::format_to(std::back_inserter(out_), "\"{}\": ", name);
  }
  std::string& out_;
  bool first_ = true;
};

/// "name": [ … ], an object a line.
template <typename List, typename Write>
void array(std::string& out, const char* name, const List& list, Write&& write) {
  fmt::format_to(std::back_inserter(out), ",\n\"{}\": [", name);
  bool first = true;
  for (const auto& one : list) {
    out += first ? "\n" : ",\n";
    first = false;
    Object object(out);
    write(object, one);
  }
  out += "\n]";
}

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

std::string estimates_json(const Estimates& estimates) {
  std::map<std::pair<std::string_view, std::string_view>, long long> numbers;
  std::vector<std::pair<std::string_view, std::string_view>> methods;
  for (const EstimateRow& row : estimates.rows)
    if (numbers
            .emplace(std::pair{std::string_view(row.estimator), std::string_view(row.source)},
                     (long long)(methods.size()))
            .second)
      methods.emplace_back(row.estimator, row.source);
  std::string out = fmt::format(
      "{{\"season\": {}, \"year\": {}, \"returns_version\": {}, \"confidence_percent\": {}, \"unit\": {}",
      json_quote(estimates.season), estimates.year, estimates.returns_version,
      shortest(100 * estimates.confidence), json_quote(estimates.unit));
  array(out, "methods", methods, [](Object& o, const auto& method) {
    o.text("estimator", std::string(method.first));
    o.text("source", std::string(method.second));
  });
  array(out, "estimates", estimates.rows, [&](Object& o, const EstimateRow& row) {
    o.text("where", row.where);
    o.text("stratum", row.stratum);
    o.text("species", row.species);
    o.text("measure", row.measure);
    o.real("value", row.value);
    o.real("standard_error", row.standard_error);
    o.real("limit_low", row.low);
    o.real("limit_high", row.high);
    if (row.confidence_percent > 0) o.real("confidence_percent", row.confidence_percent);
    o.text("limits_kind", row.limits_kind);
    o.whole("plots", row.plots);
    o.whole("occupied", row.occupied);
    o.real("degrees_freedom", row.degrees_freedom);
    o.whole("method", numbers.at({row.estimator, row.source}));
  });
  array(out, "not_counted", estimates.missing, [](Object& o, const MissingGround& one) {
    o.text("where", one.where);
    o.text("species", one.species);
    o.text("reason", one.reason);
    o.real("m2", one.m2);
    o.real("share", one.share);
    o.whole("plots", one.plots);
  });
  array(out, "not_estimated", estimates.not_estimated, [](Object& o, const NotEstimated& one) {
    o.text("where", one.where);
    o.text("stratum", one.stratum);
    o.text("species", one.species);
    o.text("reason", one.reason);
    o.real("m2", one.m2);
  });
  array(out, "notes", estimates.notes, [](Object& o, const EstimateNote& note) {
    o.text("where", note.where);
    o.text("species", note.species);
    o.text("text", note.text);
    o.yes("needs_person", note.needs_person);
  });
  return out + "\n}\n";
}

}  // namespace swardline
