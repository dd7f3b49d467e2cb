#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/habitat/place_values.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {

PlaceExplained explain(const Season& season, const Layers& layers, Point at) {
  PlaceExplained place;
  place.at = at;
  place.col = layers.grid().col_of(at.x);
  place.row = layers.grid().row_of(at.y);
  PlaceValues values(layers);
  values.move_to(place.col, place.row);
  for (const Sheet& sheet : season.sheets)
    if (sheet.scored)
      place.species.emplace_back(
          sheet.code, score_cell(sheet, [&values](const std::string& layer) { return values.of(layer); }));
  return place;
}

namespace {

/// A number for people: at most three decimals, no idle zeros.
std::string number(double value) {
  std::string text = fmt::format("{:.3f}", value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string unit_of(const std::string& layer, const Plan& plan) {
  if (const LayerSpec* spec = plan.layer(layer)) return spec->unit;
  return layer == "slope" || layer == "aspect" ? "degrees" : "";
}

std::string with_unit(double value, const std::string& unit) {
  if (unit.empty() || unit == "index") return number(value);
  return number(value) + (unit == "percent" ? " %" : " " + unit);
}

/// "cover (limiting): WD gives 0.40. Why: …"
std::string factor_line(const Factor& factor, const FactorOutcome& outcome, const Sheet& sheet,
                        const Plan& plan) {
  std::string text = factor.layer + (factor.role == Role::limiting ? " (limiting" : " (modifying");
  if (factor.role == Role::modifying || sheet.combine.rule != Rule::graded)
    text += ", weight " + number(factor.weight);
  if (!factor.group.empty()) text += ", in " + factor.group;
  text += "): ";
  if (const auto* table = std::get_if<ClassTable>(&factor.response)) {
    text += outcome.value.class_code;
    if (table->excluded.contains(outcome.value.class_code)) return text + " is excluded ground.";
    if (!table->scores.contains(outcome.value.class_code)) text += ", not listed,";
  } else {
    text += with_unit(outcome.value.number.value_or(0), unit_of(factor.layer, plan));
  }
  text += fmt::format(" gives {:.2f}", outcome.response);
  if (outcome.floored) text += ", lifted to the floor";
  text += ".";
  if (!factor.why.empty()) text += " Why: " + factor.why + (factor.why.back() == '.' ? "" : ".");
  return text;
}

/// "  elevation (mask): 312 m, and only ground below 260 m is scored."
std::string mask_line(const Mask& mask, const LayerValue& value, const Plan& plan) {
  const std::string unit = unit_of(mask.layer, plan);
  std::string text = "  " + mask.layer + " (mask): ";
  text += value.number && !value.none ? with_unit(*value.number, unit) : std::string("no data");
  text += ", and only ground";
  if (mask.keep_above) text += " above " + with_unit(*mask.keep_above, unit);
  if (mask.keep_above && mask.keep_below) text += " and";
  if (mask.keep_below) text += " below " + with_unit(*mask.keep_below, unit);
  return text + " is scored.\n";
}

std::string verdict(const CellScore& cell, const Sheet& sheet) {
  switch (cell.outcome) {
    case Outcome::excluded:
      return "Excluded: " + cell.reason + ". This ground is not scored, whatever its other factors.";
    case Outcome::no_score:
      if (cell.reason.ends_with(")")) return "No score: " + cell.reason + ". That is not a score of 0.";
      return "No score: " + cell.reason + " has no data here. That is not a score of 0.";
    case Outcome::scored:
      break;
  }
  std::string text = fmt::format("{:.3f}. ", cell.score);
  text += cell.held_down_by ? "Held down by " + sheet.factors[*cell.held_down_by].layer + "."
                            : "Nothing holds it down: every factor has full marks.";
  if (cell.reweighted) text += " A modifying factor has no data here: the others were re-weighted.";
  return text;
}

void add_species(std::string& text, const CellScore& cell, const Sheet& sheet, const Plan& plan) {
  text += sheet.code + " " + sheet.name + ": " + verdict(cell, sheet) + "\n";
  std::vector<const FactorOutcome*> order;
  for (const FactorOutcome& outcome : cell.factors) order.push_back(&outcome);
  const auto first = [&](const FactorOutcome* outcome) { return cell.held_down_by == outcome->factor; };
  std::stable_sort(order.begin(), order.end(), [&](const FactorOutcome* a, const FactorOutcome* b) {
    if (first(a) != first(b)) return first(a);
    return a->share < b->share;
  });
  for (const FactorOutcome* outcome : order)
    text += "  " + factor_line(sheet.factors[outcome->factor], *outcome, sheet, plan) + "\n";
  for (std::size_t f = 0; f < sheet.factors.size(); ++f)
    if (std::none_of(order.begin(), order.end(), [f](const FactorOutcome* o) { return o->factor == f; }))
      text += "  " + sheet.factors[f].layer +
              (sheet.factors[f].role == Role::limiting ? " (limiting): " : " (modifying): ") +
              (cell.reason.starts_with(sheet.factors[f].layer + " (") ? "a value no legend names.\n"
                                                                      : "no data.\n");
  for (std::size_t m = 0; m < sheet.masks.size(); ++m) text += mask_line(sheet.masks[m], cell.masks[m], plan);
}

}  // namespace

std::string in_words(const PlaceExplained& place, const Season& season, const std::string& heading) {
  std::string text = heading + "\n";
  for (const auto& [code, cell] : place.species) {
    const auto sheet = std::find_if(season.sheets.begin(), season.sheets.end(),
                                    [&c = code](const Sheet& s) { return s.code == c; });
    if (sheet != season.sheets.end()) add_species(text += "\n", cell, *sheet, season.plan);
  }
  if (place.species.empty()) text += "\nNo species of this season is scored.\n";
  text += "\nA score is a rule about habitat, not a chance of finding plants.\n";
  return text;
}

}  // namespace swardline
