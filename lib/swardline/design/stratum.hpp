// Strata: all of the survey area, each piece once.
#pragma once

#include <cstdint>
#include <string>
#include <vector>

namespace swardline {

enum class StratumKind { scored, excluded, no_score };

struct Stratum {
  std::string id;  ///< "QPR|score=50-75|v1"; its bytes feed the generator
  std::string site;
  std::string rule;  ///< what belongs to it, in words: "score 0.50–0.75 of the best species"
  StratumKind kind = StratumKind::scored;
  std::int64_t area_mm2 = 0;
  int planned = 0, spares = 0;      ///< asked for this season
  int drawn = 0, spares_drawn = 0;  ///< by the draw, due this season; fewer where not all fit
  int all_planned = 0,
      all_spares = 0;         ///< asked over all panels; the same as asked for the season without panels
  int a_season = 0;           ///< asked of a revisit pattern for each season, before rounding to whole panels
  int kept = 0;               ///< plots and spares of earlier seasons in it; with any, none is drawn
  double geodesic_ratio = 1;  ///< its site's; over several sites the mean, weighted by the ground in each
  int version = 1;
  std::string joined;  ///< what was merged into it, in words; empty when nothing
  [[nodiscard]] double area_m2() const { return double(area_mm2) * 1e-6; }
};

}  // namespace swardline
