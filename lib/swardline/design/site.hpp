// Sites as drawn, what is cut out of them, and the survey area that is left.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/grid/cover.hpp"
#include "swardline/lines/verge_segments.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

struct ExcludedPiece {
  std::string reason;
  Geometry area;  ///< within the site, no two pieces overlap (the first reason wins)
};

struct Site {
  std::string code;
  std::string name;
  std::map<std::string, std::string> attributes;  ///< private ones never enter
  Geometry drawn;                                 ///< valid, plan coordinates
  Geometry as_drawn;                              ///< before mending, plan coordinates
  std::vector<ExcludedPiece> excluded;
  Geometry survey;  ///< drawn minus excluded
  /// What excludes ground of it, whole as drawn: beyond the site and over one another. Nobody walks on it.
  std::vector<ExcludedPiece> keep_out;
  double drawn_m2 = 0;
  double survey_m2 = 0;
  double excluded_m2 = 0;
  double geodesic_ratio = 1;   ///< geodesic area over plane area of the survey area
  std::optional<Verge> verge;  ///< of a linear site: its segments, each with its part of the survey area
  Place place;
};

/// What of a site the plan's chosen blocks keep.
struct ChosenGround {
  std::string site;
  std::vector<std::string> blocks;  ///< their names
  double chosen_m2 = 0;             ///< survey area kept
  double of_m2 = 0;                 ///< survey area before
  [[nodiscard]] double share() const { return of_m2 > 0 ? chosen_m2 / of_m2 : 0; }
};

struct Sites {
  std::vector<Site> sites;           ///< by code
  std::vector<ChosenGround> chosen;  ///< by site, once keep_chosen_blocks (blocks.hpp) has been called
  std::vector<std::string> routes;   ///< transforms used, in words, each once
};

/// Reads the plan's sites and exclusions and makes the survey areas. Findings in `flags`:
/// missing code attribute, duplicate codes, near-duplicate names, codes that spreadsheets or
/// people misread, overlapping sites (with hectares), mended rings, slivers under one plot,
/// sites wholly excluded, empty layer, geographic or non-metre plan system, area ratio off
/// by more than 0.1 %. Parts of one code over several features or files are joined, and it is said.
/// Linear sites are among them, with the ground beside their lines as `drawn`.
[[nodiscard]] Sites read_sites(const Plan& plan, const Crs& crs, Flags& flags, int threads = 1);

/// "Candlerock Glade: 3.1 ha drawn, 0.4 ha water, 0.2 ha no entry; 2.5 ha will be surveyed."; of a linear
/// site its segments as well.
[[nodiscard]] std::string in_words(const Site& site);

[[nodiscard]] std::vector<NamedArea> survey_areas(const Sites& sites);

/// What nobody steps over except at a crossing: a fence, a ditch, a river's banks.
struct Barrier {
  std::string name;  ///< "fence without a gate (access.gpkg, feature 2)"
  std::vector<std::vector<Point>> lines;
  std::string what = {};  ///< "fence without a gate", for sheets; empty: its name
};

/// How teams reach their plots.
struct Access {
  /// Where they start, by site code; a site without one starts at its survey area's nearest boundary
  /// point to the first plot (and it is said).
  std::map<std::string, Point> start;
  std::vector<Barrier> barriers;
  /// Ways over a barrier: a point on it (a gate), or a line that leads over it (a bridge).
  std::vector<std::vector<Point>> crossings;
  Place barriers_place;  ///< where the plan names them
};
/// Crossings up to 5 m off a barrier are put on the nearest one; one farther off, yet within 50 m, is an
/// ASK and not used. A point amid a barrier drawn as an area (a river), or amid ground that is cut out of a
/// site (a power line's strip), leads from bank to bank.
[[nodiscard]] Access read_access(const Plan& plan, const Crs& crs, const Sites& sites, Flags& flags);

}  // namespace swardline
