// The plan: what was decided for one season, as read from plan.toml.
#pragma once

#include <array>
#include <cstdint>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/season/revisit.hpp"

namespace swardline {

/// A vector source: `"sites.gpkg"` or `{ file = "sites.gpkg", layer = "drawn", crs = "EPSG:26714" }`.
/// Paths are resolved against the season folder.
struct SourceSpec {
  std::filesystem::path file;
  std::string layer;
  std::string crs;  ///< only for a source that names none
  Place place;
};

struct ExclusionSpec {
  SourceSpec source;
  double buffer_m = 0;
  std::string reason;  ///< "water", "no entry"
};

struct AccessSpec {
  std::optional<SourceSpec>
      start;  ///< parking or entry points; attribute `site` names the site, else the nearest is taken
  std::optional<SourceSpec> crossings;
  std::optional<SourceSpec> barriers;
};

struct SitesSpec {
  std::vector<SourceSpec> sources;
  std::string code = "code";
  std::string name = "name";
  std::vector<std::string> private_attributes;
  std::vector<ExclusionSpec> exclusions;
  AccessSpec access;
  std::vector<std::string> only;  ///< codes to work on; empty: all
  Place place;
};

/// A raster. With `classes` it is a class layer, otherwise a measure.
struct LayerSpec {
  std::string name;
  std::filesystem::path source;
  std::string crs;                           ///< only for a raster that names none
  std::map<long long, std::string> classes;  ///< raster value -> class code
  std::string unit;    ///< "percent", "m", "degrees", "index", …; its range is checked
  double scale = 1.0;  ///< value = (raw × own scale + own offset) × scale
  int band = 1;
  Place place;
  [[nodiscard]] bool is_classes() const { return !classes.empty(); }
};

struct GridSpec {
  std::optional<double> cell_m;                 ///< default: the finest layer's
  std::optional<std::array<double, 4>> extent;  ///< x0, y0, x1, y1 in the plan's system
};

struct StrataSpec {
  std::vector<std::string> by = {"site", "score"};  ///< "site", "score", a site attribute, a class layer
  std::string score_of = "best";                    ///< "best", "mean" or a species code
  std::vector<double> bands = {0.25, 0.5, 0.75};    ///< rising, inside (0, 1), whole percents
  double smallest_m2 = 400;
  Place place;
};

enum class UnitShape { circle, square, belt };
enum class Allocation { equal, proportional, optimal };
enum class EdgeRule { walk_through };

struct SampleSpec {
  UnitShape shape = UnitShape::belt;
  /// circle: radius; square: side; belt: width and length. Horizontal metres.
  std::array<double, 2> size_m = {2, 10};
  std::optional<int> total;  ///< planned plots over all strata
  std::optional<int> each;   ///< planned plots in every stratum
  Allocation allocation = Allocation::proportional;
  int least_per_stratum = 4;
  double spares = 0.5;  ///< per planned plot, rounded up
  EdgeRule edge = EdgeRule::walk_through;
  std::optional<double> bearing_deg;     ///< true bearing; none: random whole degrees
  double apart_m = 0;                    ///< 0: no closeness rule
  bool refuse_when_apart_binds = false;  ///< apart_rule = "refuse"
  bool plots_in_excluded = false;        ///< the plan asks for plots in the stratum `excluded`
  /// Standard deviation of plot counts per band ("0.50-0.75"), for optimal allocation;
  /// key "SITE 0.50-0.75" goes before the plain band.
  std::map<std::string, double> spread;
  std::optional<SourceSpec> keep;  ///< plots of earlier seasons that stay; paths resolved
  double keep_tolerance_m = 1;     ///< two kept plots nearer than this are one plot under two names
  Place place;
  [[nodiscard]] double unit_area_m2() const;
  [[nodiscard]] double reach_m() const;  ///< farthest point of the plot from its pin
};

/// Which plots are visited in which season.
struct PanelsSpec {
  bool given = false;
  std::string pattern;             ///< as written
  std::vector<RevisitPart> parts;  ///< with their shares
  int start = 0;                   ///< the first season's year
  int year = 0;                    ///< this season's
  std::optional<int> years;        ///< how many seasons are drawn for; needed where plots are never met again
  bool change = false;  ///< another pattern or other numbers are wanted mid-cycle, and the loss accepted
  Place place;
};

/// What is expected of one species' counts per plot, where no pilot tells.
struct ExpectedCounts {
  std::optional<double> mean;
  std::optional<double> sd;
  std::optional<double> sd_of_differences;  ///< of counts on the same plot in two seasons
};

/// How good the answers must be and what counting costs.
struct EffortSpec {
  bool given = false;
  std::optional<double> precision;  ///< half width of the limits as a share of the mean
  std::optional<double> change;     ///< smallest change that matters, as a share of the mean
  double confidence = 0.90;
  double assurance = 0.90;  ///< chance that the limits come out no wider than asked
  double power = 0.80;
  double false_change = 0.10;
  bool same_plots = true;             ///< the same plots are counted in both seasons
  std::optional<double> correlation;  ///< of counts on the same plot between seasons
  std::filesystem::path pilot;        ///< resolved; a table: species, plot, count, season; empty: none
  std::optional<std::array<double, 2>> variance_law;  ///< Taylor's a and b: variance = a mean^b
  std::map<std::string, ExpectedCounts> expected;     ///< by species code
  std::optional<double> hours;                        ///< person-hours there are
  double minutes_per_plot = 20;
  double minutes_per_site = 60;  ///< getting there and back, once
  double walk_m_per_minute = 30;
  int people = 2;      ///< on every visit: nobody goes alone
  double refused = 0;  ///< share of plots that will not be counted
  Place place;
};

struct PointsSpec {
  std::string name_profile = "free";  ///< "6", "8", "10", "free"
  int points_per_file = 0;            ///< 0: no limit
  int points_per_route = 0;           ///< 0: no limit
  std::vector<std::string> formats = {"gpx"};
};

struct Plan {
  std::filesystem::path file;    ///< the plan itself
  std::filesystem::path folder;  ///< the season folder
  std::string name;
  std::string crs;  ///< projected, metres
  Place crs_place;
  std::uint64_t seed = 0;
  std::string store = "season.gpkg";  ///< resolved path, or "PG:…"
  std::string species = "species/*.toml";
  std::filesystem::path out = "out";  ///< resolved
  std::optional<SourceSpec> known;    ///< known patches
  SitesSpec sites;
  GridSpec grid;
  std::vector<LayerSpec> layers;  ///< in the plan's order
  StrataSpec strata;
  SampleSpec sample;
  PanelsSpec panels;
  PointsSpec points;
  EffortSpec effort;
  [[nodiscard]] const LayerSpec* layer(const std::string& layer_name) const;
};

}  // namespace swardline
