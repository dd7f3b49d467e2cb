#include "swardline/habitat/rule.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/habitat/rule_tree.hpp"

namespace swardline {

double respond(const Trapezoid& t, double value) {
  if (value < t.a || value > t.d) return 0;
  if (value >= t.b && value <= t.c) return 1;
  if (value < t.b) return std::isinf(t.a) ? 1 : (value - t.a) / (t.b - t.a);
  return std::isinf(t.d) ? 1 : (t.d - value) / (t.d - t.c);
}

double respond(const Polyline& polyline, double value) {
  const auto& points = polyline.points;
  if (points.empty()) return 0;
  if (value < points.front().first) return points.front().second;
  if (value >= points.back().first) return points.back().second;
  // The first point beyond the value; a step (two points at one value) takes its later side.
  std::size_t next = 1;
  while (points[next].first <= value) ++next;
  const auto& [x0, y0] = points[next - 1];
  const auto& [x1, y1] = points[next];
  return y0 + (value - x0) / (x1 - x0) * (y1 - y0);
}

int percent(double score) { return int(std::floor(100.0 * std::clamp(score, 0.0, 1.0) + 0.5)); }

std::vector<std::string> layers_of(const Sheet& sheet) {
  std::vector<std::string> names;
  const auto add = [&names](const std::string& name) {
    if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  };
  for (const Factor& factor : sheet.factors) add(factor.layer);
  for (const Mask& mask : sheet.masks) add(mask.layer);
  return names;
}

namespace {

struct FactorHere {
  double response = no_value;
  bool excluded = false;
};

FactorHere factor_here(const Sheet& sheet, const Factor& factor, const LayerValue& value) {
  if (const auto* table = std::get_if<ClassTable>(&factor.response)) {
    if (value.class_code.empty()) return {};  // a value no legend names
    if (table->excluded.contains(value.class_code)) return {0, true};
    if (const auto found = table->scores.find(value.class_code); found != table->scores.end())
      return {found->second, false};
    if (table->otherwise) return {*table->otherwise, false};
    throw InputError(
        factor.place,
        "class " + value.class_code + " of " + factor.layer + " has no score in " + sheet.code + ".",
        "List it under scores or excluded, or give otherwise.");
  }
  if (!value.number || std::isnan(*value.number)) return {};
  if (const auto* trapezoid = std::get_if<Trapezoid>(&factor.response))
    return {respond(*trapezoid, *value.number), false};
  return {respond(std::get<Polyline>(factor.response), *value.number), false};
}

bool known(const LayerValue& value) {
  return !value.none && (!value.class_code.empty() || (value.number && !std::isnan(*value.number)));
}

/// "moisture", or for a class value that no legend names "cover (value 57 is in no legend)".
std::string missing_text(const Factor& factor, const LayerValue& value) {
  const bool unknown_class = !value.none && value.number && !std::isnan(*value.number) &&
                             std::holds_alternative<ClassTable>(factor.response);
  return unknown_class ? factor.layer + " (value " + shortest(*value.number) + " is in no legend)"
                       : factor.layer;
}

}  // namespace

CellScore score_cell(const Sheet& sheet, const std::function<LayerValue(const std::string&)>& value_of) {
  std::map<std::string, LayerValue> values;
  for (const std::string& layer : layers_of(sheet)) values.emplace(layer, value_of(layer));

  CellScore cell;
  std::string missing;
  std::vector<double> responses(sheet.factors.size(), no_value);
  for (std::size_t f = 0; f < sheet.factors.size(); ++f) {
    const Factor& factor = sheet.factors[f];
    const LayerValue& value = values.at(factor.layer);
    const FactorHere here = value.none ? FactorHere{} : factor_here(sheet, factor, value);
    responses[f] = here.response;
    if (here.excluded && cell.outcome != Outcome::excluded) {
      cell.outcome = Outcome::excluded;
      cell.reason = exclusion_reason(factor, value.class_code);
    }
    if (std::isnan(here.response) && must_have(factor) && missing.empty())
      missing = missing_text(factor, value);
  }
  for (const Mask& mask : sheet.masks) {
    const LayerValue& value = values.at(mask.layer);
    cell.masks.push_back(value);
    if (!known(value) || !value.number) {
      if (missing.empty()) missing = mask.layer;
    } else if (masked_out(mask, *value.number) && cell.outcome != Outcome::excluded) {
      cell.outcome = Outcome::excluded;
      cell.reason = exclusion_reason(mask);
    }
  }

  const RuleTree tree(sheet);
  RuleTree::Scratch scratch = tree.scratch();
  RuleTree::Detail detail;
  const RuleTree::Combined combined = tree.combine(responses, scratch, &detail);
  for (std::size_t f = 0; f < responses.size(); ++f)
    if (!std::isnan(responses[f]))
      cell.factors.push_back(
          {f, values.at(sheet.factors[f].layer), detail.response[f], detail.floored[f], detail.share[f]});
  if (cell.outcome == Outcome::excluded) return cell;
  if (missing.empty() && combined.missing >= 0) missing = sheet.factors[std::size_t(combined.missing)].layer;
  if (!missing.empty()) {
    cell.outcome = Outcome::no_score;
    cell.reason = missing;
    return cell;
  }
  cell.score = std::clamp(combined.value, 0.0, 1.0);
  cell.reweighted = combined.reweighted;
  if (combined.held_by >= 0) cell.held_down_by = std::size_t(combined.held_by);
  return cell;
}

}  // namespace swardline
