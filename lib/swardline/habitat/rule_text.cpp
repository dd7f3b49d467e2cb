#include "swardline/habitat/rule_text.hpp"

#include <optional>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

std::string text_of(const std::optional<double>& value) { return value ? shortest(*value) : "-"; }

std::string text_of(const Combine& combine) {
  return std::to_string(int(combine.rule)) + " " + shortest(combine.limiting_power) + " " +
         text_of(combine.floor);
}

std::string text_of(const Response& response) {
  if (const auto* t = std::get_if<Trapezoid>(&response))
    return "trapezoid " + shortest(t->a) + " " + shortest(t->b) + " " + shortest(t->c) + " " + shortest(t->d);
  std::string text;
  if (const auto* polyline = std::get_if<Polyline>(&response)) {
    text = "points";
    for (const auto& [x, y] : polyline->points) text += " " + shortest(x) + ":" + shortest(y);
    return text;
  }
  const auto& table = std::get<ClassTable>(response);
  text = "classes otherwise " + text_of(table.otherwise);
  for (const auto& [code, score] : table.scores) text += " " + code + ":" + shortest(score);
  for (const std::string& code : table.excluded) text += " " + code + ":excluded";
  return text;
}

}  // namespace

std::string rule_text(const Sheet& sheet) {
  std::string text =
      sheet.code + " version " + std::to_string(sheet.version) + " " + text_of(sheet.combine) + "\n";
  for (const Factor& factor : sheet.factors)
    text += "factor " + factor.layer + " " + std::to_string(int(factor.role)) + " " +
            shortest(factor.weight) + " [" + factor.group + "] " + text_of(factor.response) + "\n";
  for (const Group& group : sheet.groups)
    text += "group " + group.name + " [" + group.within + "] " + std::to_string(int(group.role)) + " " +
            shortest(group.weight) + " " + text_of(group.combine) + "\n";
  for (const Mask& mask : sheet.masks)
    text += "mask " + mask.layer + " " + text_of(mask.keep_below) + " " + text_of(mask.keep_above) + "\n";
  return text;
}

}  // namespace swardline
