// Small seasons whose plots stand in cells of chosen values.
#pragma once

#include <limits>
#include <map>
#include <string>
#include <vector>

#include "../habitat/fixture.hpp"
#include "swardline/compare/compare.hpp"

namespace compare_test {

inline constexpr double nothing = std::numeric_limits<double>::quiet_NaN();

/// A plot in a cell of its own; 255 is no data.
struct MadePlot {
  std::string stratum;
  double moisture = 30, canopy = 10, heat = 1;
  std::string cover = "WM";
  double stems = 0, not_certain = 0, area_m2 = 20;
  double accuracy_m = 4, fix_away_m = 1;
  bool searched = true;
};

struct Made {
  habitat_test::Folder folder;
  swardline::Season season;
  swardline::Layers layers;
  swardline::Model model;
  swardline::EvaluatedSeason counted;
  [[nodiscard]] swardline::Comparison compare(const swardline::CompareOptions& options = {}) const;
  /// The only species of a comparison.
  [[nodiscard]] swardline::SpeciesComparison ptub(const swardline::CompareOptions& options = {}) const;
};

/// Penstemon tubaeflorus' rule on cells of 10 m; plots are named P001, P002, … and `ground_m2` is by stratum.
[[nodiscard]] std::unique_ptr<Made> made_season(const std::vector<MadePlot>& plots,
                                                const std::map<std::string, double>& ground_m2);

/// Sixty plots: three occupied glade-edge plots that score 0.44, nine empty ones alike, good and poor ground,
/// two on open water, one without moisture and one with a fix of 14 m.
[[nodiscard]] std::unique_ptr<Made> story_of_the_glade();

}  // namespace compare_test
