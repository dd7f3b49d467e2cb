#include "swardline/estimate/evaluated.hpp"

namespace swardline {

double estimated_m2(const EvaluatedSeason& season, const EvaluatedStratum& stratum) {
  const bool margin = season.edge == EdgeRule::inner_margin && season.unit == SampleUnit::plot &&
                      stratum.kind != "line" && stratum.frame_m2 > 0;
  return margin ? stratum.frame_m2 : stratum.area_m2;
}

}  // namespace swardline
