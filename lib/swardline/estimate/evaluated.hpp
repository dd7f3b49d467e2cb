// A season as it can be evaluated: every plot that was drawn, what became of it, and what was counted.
#pragma once

#include <cstdint>
#include <limits>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/season/plan.hpp"

namespace swardline {

/// Counts of one species on one plot. Areas are those of the estimator's denominator: searched, and searched
/// twice where the edge rule asks for it.
struct UnitCount {
  double sure = 0;         ///< stems recorded as sure, twice-counted ones twice (walk-through, fold-back)
  double not_certain = 0;  ///< stems recorded as not certain, the same way
  double area_m2 = 0;
  bool searched = false;  ///< false: nobody looked, or the rows are kept out; the numbers mean nothing then
};

/// A plot, segment or transect. Quadrats of a transect are added up: the transect is the unit.
struct EvaluatedUnit {
  std::string name, site, stratum, panel;
  int order = 0;
  bool spare = false;
  bool in_use = false;         ///< planned and due, or a spare that took a place
  bool evaluated = false;      ///< in use, and counted
  std::string fate;            ///< "counted", "not countable (mown)", "no return"; see returns/words.hpp
  std::string why;             ///< of a plot that is not evaluated: in words
  double east = 0, north = 0;  ///< plan coordinates
  double lat = 0, lon = 0;
  double bearing_deg = std::numeric_limits<double>::quiet_NaN();  ///< true, of a belt or square
  double plot_m2 = 0, inside_m2 = 0, twice_m2 = 0;
  double chance_per_m2 = 0;  ///< of the draw
  double fix_accuracy_m = std::numeric_limits<double>::quiet_NaN();
  double fix_east = std::numeric_limits<double>::quiet_NaN();  ///< plan coordinates of the team's fix
  double fix_north = std::numeric_limits<double>::quiet_NaN();
  std::string observer;
  std::int32_t day = 0;           ///< of the visit, since 1970-01-01
  std::vector<UnitCount> counts;  ///< beside EvaluatedSeason::species
};

/// A second count of the same plot, for the recount ratio. Never used for density.
struct Recount {
  std::size_t unit = 0, species = 0;
  double first = 0, second = 0;  ///< stems
  std::string first_observer, second_observer;
};

struct EvaluatedStratum {
  std::string id, site, kind;  ///< kind: "scored", "excluded", "no score", "line"
  double area_m2 = 0;          ///< of survey area, plane
  double frame_m2 = 0;         ///< of the ground its pins fell on
  double geodesic_ratio = 1;   ///< totals are multiplied by it
  int planned = 0;
};

struct EvaluatedSite {
  std::string code, name;
  double survey_m2 = 0;
  double geodesic_ratio = 1;
  std::map<std::string, std::string> attributes;
};

struct EvaluatedSeason {
  std::string season;  ///< the plan's name
  int year = 0;        ///< of the visits
  EdgeRule edge = EdgeRule::walk_through;
  bool weighted = false;  ///< chances differ within a stratum
  SampleUnit unit = SampleUnit::plot;
  double unit_area_m2 = 0;
  std::string crs;                   ///< as the store has it, WKT
  std::vector<std::string> species;  ///< codes
  std::vector<EvaluatedSite> sites;
  std::vector<EvaluatedStratum> strata;
  std::vector<EvaluatedUnit> units;
  std::vector<Recount> recounts;
  int returns_version = 0;         ///< of the returns that were read
  std::vector<std::string> notes;  ///< how counts were brought to areas, where there was a choice, in words
};

/// Plane m² of a stratum that its plots speak of: its survey area, with an inner margin what lies inside it.
[[nodiscard]] double estimated_m2(const EvaluatedSeason& season, const EvaluatedStratum& stratum);

}  // namespace swardline
