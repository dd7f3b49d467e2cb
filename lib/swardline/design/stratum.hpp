// Strata: all of the survey area, each piece once.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace swardline {

enum class StratumKind {
  scored,
  excluded,
  no_score,
  line  ///< a linear site: its units are segments, whatever the score
};

struct Stratum {
  std::string id;  ///< "QPR|score=50-75|v1"; its bytes feed the generator
  std::string site;
  std::string rule;  ///< what belongs to it, in words: "score 0.50–0.75 of the best species"
  StratumKind kind = StratumKind::scored;
  std::int64_t area_mm2 = 0;  ///< of survey area
  std::int64_t frame_mm2 =
      0;  ///< of the ground its pins fall on; the same unless the edge rule says otherwise
  int planned = 0, spares = 0;      ///< asked for this season
  int drawn = 0, spares_drawn = 0;  ///< by the draw, due this season; fewer where not all fit
  int all_planned = 0,
      all_spares = 0;         ///< asked over all panels; the same as asked for the season without panels
  int a_season = 0;           ///< asked of a revisit pattern for each season, before rounding to whole panels
  int kept = 0;               ///< plots and spares of earlier seasons in it; with any, none is drawn
  double geodesic_ratio = 1;  ///< its site's; over several sites the mean, weighted by the ground in each
  int version = 1;
  std::string joined;  ///< what was merged into it, in words; empty when nothing
  /// Sum of mm² × whole-number weight where chances are in proportion to a weight; 0 where they are equal.
  std::int64_t weighted_mm2 = 0;
  std::int64_t at_floor_mm2 = 0;  ///< ground whose own weight is below the floor, or that has none
  double weight_unit = 0;         ///< what weight 1 stands for, in the unit of the score or the layer
  [[nodiscard]] double area_m2() const { return double(area_mm2) * 1e-6; }
  [[nodiscard]] double frame_m2() const { return double(frame_mm2) * 1e-6; }
  /// Sum of weight × m², in the unit of the score or the layer; 0 where chances are equal.
  [[nodiscard]] double weight_sum_m2() const { return double(weighted_mm2) * 1e-6 * weight_unit; }
  /// The chance per m² of n plots where the whole-number weight is w (1 where chances are equal) is n·w
  /// over this.
  [[nodiscard]] double chance_base_m2() const {
    return weighted_mm2 > 0 ? double(weighted_mm2) * 1e-6 : frame_m2();
  }
};

}  // namespace swardline
