// One species' rule for one place, in double precision: the meaning that maps, tables
// and explanations share. Slow and plain; whole rasters go through Scorer.
//
// Suitability indices and their combination: US Fish & Wildlife Service 1981, Standards
// for the development of habitat suitability index models, ESM 103.
#pragma once

#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "swardline/season/sheet.hpp"

namespace swardline {

/// A layer's value at a place: a number, a class code, or no data.
struct LayerValue {
  std::optional<double> number;
  std::string class_code;
  bool none = false;  ///< no data here
};

/// Piecewise-linear response of a measure, 0…1.
[[nodiscard]] double respond(const Trapezoid& trapezoid, double value);
[[nodiscard]] double respond(const Polyline& polyline, double value);

enum class Outcome { scored, excluded, no_score };

/// What became of one factor.
struct FactorOutcome {
  std::size_t factor = 0;  ///< index into Sheet::factors
  LayerValue value;
  double response = 0;  ///< after the floor, when one decided
  bool floored = false;
  double share =
      1;  ///< what it contributes to the product (or its weighted shortfall's complement): lowest holds down
};

struct CellScore {
  Outcome outcome = Outcome::scored;
  double score = 0;  ///< 0…1, when scored
  /// What holds the score down: the factor with the smallest contribution (the limiting part
  /// L^p and each modifying factor's v^(w(1-p)/Σw) for `graded`; the lowest value for `lowest`;
  /// v^(w/Σw) for `geometric`; the largest w(1-v)/Σw for `arithmetic`; groups recursively), the
  /// first in the sheet on ties; nothing when every factor is 1.
  std::optional<std::size_t> held_down_by;
  /// Excluded: "cover OW", "elevation at or above 260", or a mask's own words, "outside its range
  /// (elevation)". No score: the missing layer, or "cover (value 57 is in no legend)".
  std::string reason;
  std::vector<FactorOutcome> factors;  ///< every factor that had data
  std::vector<LayerValue> masks;       ///< by mask of the sheet
  bool reweighted = false;             ///< a modifying factor had no data
};

/// `value_of(layer)` gives the place's value; called once per layer the sheet names. What is decided, in
/// order:
/// - An excluded class or a mask that is known to fail gives `excluded`, whatever else is missing
///   (more data would not change it); classes come before masks, in the sheet's order.
/// - No data in a limiting factor, in any factor that reads classes (ground there might be excluded)
///   or in a mask gives `no_score`, inside groups too.
/// - Modifying factors without data drop out and the others of their level are re-weighted; a group
///   of which nothing is left does the same, or gives no score where it is limiting.
/// - With `graded` and no limiting factor the score is G; with no modifying factor with data it is L.
/// - The floor lifts modifying factors (and modifying groups) of its own level, with any rule.
/// A class that the sheet neither lists nor covers by `otherwise` throws InputError.
[[nodiscard]] CellScore score_cell(const Sheet& sheet,
                                   const std::function<LayerValue(const std::string&)>& value_of);

/// 100·score rounded to whole percent, as the maps hold it.
[[nodiscard]] int percent(double score);

/// A rule's layers in order of first mention, derived ones by their own names.
[[nodiscard]] std::vector<std::string> layers_of(const Sheet& sheet);

}  // namespace swardline
