// What stands on the one page a team carries: facts of one visit to one site, or of one loop of it.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/field/cautions.hpp"
#include "swardline/field/ground_slopes.hpp"
#include "swardline/field/identification.hpp"
#include "swardline/field/site_ways.hpp"
#include "swardline/field/visits.hpp"
#include "swardline/lines/declination.hpp"

namespace swardline {

/// A straight part of a way that bends.
struct SheetStage {
  double metres = 0, bearing = 0;  ///< geodesic; true
  std::optional<double> magnetic;
  bool to_crossing = false;  ///< it ends at a crossing
};

/// The way to a plot, as it is walked.
struct SheetLeg {
  double metres = 0;   ///< along the way; the straight line's where there is none; NaN: no leg
  double bearing = 0;  ///< true, of the straight line; NaN: no leg
  std::optional<double> magnetic;
  std::vector<SheetStage> stages;  ///< of a way that bends; none of a verge's, which is its line
  std::vector<Point> line;         ///< where it leads, plan coordinates; empty where there is no way
  bool open = true;                ///< there is a way
  bool outside = false;            ///< it leaves the site and comes back
  std::string past;                ///< what lies on the straight line, in words
};

/// A plot or transect in walking order.
struct SheetPlot {
  const Plot* plot = nullptr;
  const Transect* transect = nullptr;  ///< of which `plot` is the start
  int order = 0;                       ///< in the walk, from 1; spares follow, in draw order
  SheetLeg leg;                        ///< from the place before; spares have none
  SheetLeg from_start;                 ///< from the parking or the entry, for the first of a loop
  std::string beyond;                  ///< what keeps a team from it, in words; empty where there is a way
  std::optional<double>
      bearing_along;  ///< true: of the plot's long side, of the line at a segment; not of circles
  std::optional<double> magnetic_along;
  std::string degrees;                  ///< "38.00412 -96.02184"
  std::string minutes;                  ///< "38 00.247 N 96 01.310 W"
  std::vector<std::string> usng;        ///< the standard zone's first; two near a zone's edge
  double tape_m = 0;                    ///< along the ground; of a plot held level
  std::optional<double> ground_tape_m;  ///< along the ground, where a level plot's slope makes it 2 % longer
  double inside_m2 = 0;                 ///< rounded down to 0.1
  std::string edge;                     ///< tape distances of the count-twice zone; empty away from edges
  std::vector<std::string> likely;      ///< species codes
};

/// A site's plots as a team meets them.
struct SiteWalk {
  std::string code, name;
  std::optional<Point> start;    ///< parking or entry, plan coordinates
  bool parking = true;           ///< the start is one that the plan gives
  std::vector<SheetPlot> plots;  ///< in walking order; then spares by stratum, in draw order
  double length_m = 0;           ///< of the walk, from the start to the last plot
  [[nodiscard]] bool two_zones() const;
  [[nodiscard]] bool steep() const;  ///< a plot has `ground_tape_m`
};

/// What walks are made from. Not shared between threads.
struct WalkSources {
  const Plan& plan;
  const Route& to_wgs84;
  const Declination& declination;
  const Verge* verge = nullptr;                                ///< of a linear site
  const std::map<std::string, GroundSlope>* slopes = nullptr;  ///< by plot; none: nothing is said of slopes
};

/// Of the plots that are due; those of other sites are left out. `ways`: of the same plots. `likely`: codes
/// that may be named, searched for at the site. A plot names those that score `[returns] search_from` there,
/// else all of them.
[[nodiscard]] SiteWalk site_walk(const WalkSources& sources, const std::string& code, const std::string& name,
                                 const std::vector<Plot>& plots, const std::vector<Transect>& transects,
                                 const SiteWays& ways, const std::vector<std::string>& likely);

/// A species as a sheet has it.
struct SheetSpecies {
  std::string code, name;
  std::string window;    ///< "20 May - 25 Jun"
  std::string mark;      ///< the character, or the two, that tell it from all there; may be empty
  std::string rule_out;  ///< look-alike and how to tell it; may be empty
};

/// One visit to one site: what all of its sheets say.
struct SheetVisit {
  std::string season;
  std::string version;  ///< of the draw: "2027-03-18 / 3f2a"
  int number = 1, of = 1;
  std::string dates;      ///< "20-31 May"
  std::string open_days;  ///< "12 open days"; closures in words
  std::string team;       ///< may be empty
  std::string week;       ///< "week of 24 May", "weeks of 17 and 24 May"; may be empty
  int people = 2;
  std::string laying;  ///< how a plot lies about its pin
  std::string along;   ///< of a linear site: where its metres begin and which way they run
  bool steep = false;  ///< the sheet says how to tape on slopes
  std::vector<Caution> cautions;
  std::string permission;             ///< "yes, 1 May - 30 Jun"
  std::string contact;                ///< a placeholder
  std::string declination;            ///< "1.5° W, …"; empty where the plan has none
  std::vector<SheetSpecies> species;  ///< likely here and caught by this visit
  std::string not_certain;            ///< the code for a plant nobody is certain of
};

/// What is known of a season's sheets before a visit is looked at.
struct SheetSeason {
  const Season& season;
  const std::vector<Assignment>& assignments;
  int year = 0;
  std::string version;  ///< of the draw
};

/// What the sheets of a visit say, in words. `declination`: as declination_words has it.
[[nodiscard]] SheetVisit sheet_visit(const SheetSeason& of, const SiteSpecies& site, const Visit& visit,
                                     const std::string& declination);

/// "2027-03-18 / 3f2a91": the day of the draw, and six figures of the fingerprint of its inputs.
[[nodiscard]] std::string draw_version(const std::string& finished, const std::string& inputs);

/// One printed page: the plots of one loop.
struct SiteSheet {
  const SiteWalk* walk = nullptr;
  const SheetVisit* visit = nullptr;
  std::size_t begin = 0, end = 0;  ///< into SiteWalk::plots
  std::size_t loop = 0, loops = 1;
  [[nodiscard]] std::string loop_name() const;  ///< "A"; past Z "AA"
  /// "QPR-1A-3F2A91": site, visit and loop, draw; a return's sheet_id. No loop where there is one only.
  [[nodiscard]] std::string id() const;
  /// The way to one of its plots: to the first from the start.
  [[nodiscard]] const SheetLeg& leg_to(std::size_t i) const {
    return i == begin ? walk->plots[i].from_start : walk->plots[i].leg;
  }
};

/// Cuts a walk into the fewest loops that fit, contiguous in walking order and as even as can be.
/// `heights`: what each plot takes; `firsts`: what it takes as the first of a loop, where its way comes from
/// the start (empty: the same); `room`: what a page has. A plot higher than the room is a loop of its own.
[[nodiscard]] std::vector<std::pair<std::size_t, std::size_t>> loops_of(
    const std::vector<double>& heights, double room, const std::vector<double>& firsts = {});

/// "PEN?" where all are of one genus, "?" else.
[[nodiscard]] std::string not_certain_code(const Season& season, const std::vector<std::size_t>& sheets);

/// "1.5° W at this site, WMM-2025 for 2027-05-28"; empty where the plan has none.
[[nodiscard]] std::string declination_words(const Declination& declination, double lat, double lon);

}  // namespace swardline
