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
#include "swardline/season/sheet.hpp"

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
  std::string reason;        ///< "water", "no entry"
  bool verges_only = false;  ///< a gap: cut out of linear sites, nowhere else
};

struct AccessSpec {
  std::optional<SourceSpec>
      start;  ///< parking or entry points; attribute `site` names the site, else the nearest is taken
  std::optional<SourceSpec> crossings;
  std::optional<SourceSpec> barriers;
};

/// Metres that may differ by line and by side.
struct LineMeasure {
  std::array<double, 2> metres = {0, 0};  ///< left, right
  std::array<std::string, 2> attributes;  ///< that hold them, line by line; empty: `metres`
};

enum class LineSides { both, left, right };

/// Sites that are lines (verges): the unit of their draw is a segment.
struct LinearSpec {
  std::vector<SourceSpec> sources;  ///< empty: there are none
  double segment_m = 20;
  LineSides sides = LineSides::both;
  LineMeasure width;        ///< of the verge
  LineMeasure offset;       ///< from the line to the verge's inner edge
  std::optional<int> each;  ///< planned segments in every linear site; none: as `[sample] each`
  Place place;
};

struct SitesSpec {
  std::vector<SourceSpec> sources;
  std::string code = "code";
  std::string name = "name";
  std::vector<std::string> private_attributes;
  std::vector<ExclusionSpec> exclusions;  ///< gaps of linear sites among them
  LinearSpec linear;
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

enum class SampleUnit { plot, transect };
enum class UnitShape { circle, square, belt };
enum class Allocation { equal, proportional, optimal };
/// What says how many plots are planned over all strata: a number in the plan, or what [effort] works out.
enum class TotalFrom { number, precision, hours };
/// What is done where a plot meets the edge of the survey area; design/edges.hpp says what each asks of an
/// estimate.
enum class EdgeRule { walk_through, grown_frame, fold_back, inside_area, inner_margin };

/// What is expected of one species' counts per plot, by stratum as SampleSpec::spread has it.
struct SpeciesSpread {
  double target = 0.2;  ///< relative standard error wanted of its total, as a share (0.2 = 20 %)
  std::map<std::string, double> mean, sd;
  Place place;
};

/// Chances in proportion to something, within each stratum.
struct WeightSpec {
  std::string of;      ///< "score" (of the strata's score_of) or a measure layer; empty: equal chances
  double floor = 0;    ///< least weight, in the unit of the score (0 to 1) or the layer; 0: none
  double step = 0.01;  ///< weights are whole multiples of it
  Place place;
  [[nodiscard]] bool given() const { return !of.empty(); }
  [[nodiscard]] bool by_score() const { return of == "score"; }
};

struct SampleSpec {
  SampleUnit unit = SampleUnit::plot;
  /// Of transects: a belt as wide and long as the transect, so that reach and area speak of it too.
  UnitShape shape = UnitShape::belt;
  /// circle: radius; square: side; belt: width and length. Horizontal metres.
  std::array<double, 2> size_m = {2, 10};
  std::optional<int> total;                  ///< planned plots over all strata
  TotalFrom total_from = TotalFrom::number;  ///< where not `number`, total is worked out before a draw
  std::optional<int> each;                   ///< planned plots in every stratum
  Allocation allocation = Allocation::proportional;
  int least_per_stratum = 4;
  double spares = 0.5;  ///< per planned plot, rounded up
  EdgeRule edge = EdgeRule::walk_through;
  double margin_m = 0;                   ///< least metres from a pin to the edge, for inner_margin only
  std::optional<double> bearing_deg;     ///< true bearing; none: random whole degrees
  double apart_m = 0;                    ///< 0: no closeness rule
  bool refuse_when_apart_binds = false;  ///< apart_rule = "refuse"
  bool plots_in_excluded = false;        ///< the plan asks for plots in the stratum `excluded`
  /// Standard deviation of plot counts per band ("0.50-0.75"), for optimal allocation. A stratum's
  /// identity without its version goes before "SITE 0.50-0.75", that before "SITE", that before the band.
  std::map<std::string, double> spread;
  std::map<std::string, SpeciesSpread> species_spread;  ///< by species code; in place of `spread`
  std::map<std::string, double> cost;                   ///< minutes a plot takes, keys as for spread
  std::optional<double> budget_minutes;                 ///< for all planned plots, in place of a number
  WeightSpec weight;
  std::optional<SourceSpec> keep;  ///< plots of earlier seasons that stay; paths resolved
  double keep_tolerance_m = 1;     ///< two kept plots nearer than this are one plot under two names
  Place place;
  [[nodiscard]] double unit_area_m2() const;
  [[nodiscard]] double reach_m() const;  ///< farthest point of the plot from its pin
};

/// Frames laid along a transect, each counted by itself.
struct FrameSpec {
  double step_m = 0;                      ///< from the start of one frame to the start of the next
  std::array<double, 2> size_m = {1, 1};  ///< across and along the line
};

/// How transects are laid; horizontal metres, degrees from true north.
struct TransectSpec {
  enum class Lay { point, baseline };
  enum class Baseline { bearing, contour, longest_axis };
  enum class Boundary { clip, reflect };
  double length_m = 0;
  double width_m = 0;               ///< of the belt, or of the frames
  std::optional<FrameSpec> frames;  ///< none: the whole belt is counted
  Lay lay = Lay::point;
  std::optional<double>
      bearing_deg;  ///< of the lines, for starts at random points; none: random whole degrees
  Baseline baseline = Baseline::bearing;
  double baseline_deg = 0;  ///< of the baseline itself: the lines run across it
  Boundary boundary = Boundary::clip;
  std::optional<SourceSpec> reference_lines;  ///< placed by hand: kept, and kept out of estimates
  Place place;
};

/// How far a compass needle points east of true north, and how that is known.
struct DeclinationSpec {
  bool given = false;
  std::optional<double> degrees;  ///< typed in; east positive
  std::filesystem::path model;    ///< resolved; a file of World Magnetic Model coefficients
  std::string date;               ///< "2027-05-28": typed in of that day, or to be worked out for it
  std::string source;             ///< of a typed one: whose, and for what place
  Place place;
};

/// Which plots are visited in which season.
struct PanelsSpec {
  bool given = false;
  std::string pattern;             ///< as written but for blanks
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
  std::optional<double> occupied;           ///< share of plots with at least one plant
  Place place;
};

/// How good the answers must be and what counting costs.
struct EffortSpec {
  bool given = false;
  std::vector<std::string> species;       ///< codes to plan for; empty: all sheets'
  std::optional<double> precision;        ///< half width of the limits as a share of the mean
  std::optional<double> change;           ///< smallest change that matters, as a share of the mean
  std::optional<double> occupied_within;  ///< half width of the limits of the share of occupied plots
  std::optional<double> occupied_change;  ///< smallest change of that share that matters
  std::optional<double> find_one;         ///< chance of at least one find
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
  double minutes_per_site = 60;  ///< getting there and back, each day spent there
  double hours_per_day = 7;      ///< at a site, without getting there
  double walk_m_per_minute = 30;
  int people = 2;      ///< on every visit: nobody goes alone
  int visits = 1;      ///< times each plot is counted in the season
  double refused = 0;  ///< share of plots that will not be counted
  Place place;
};

/// Blocks within sites: squares of the global grid in which to lay plots or transects.
struct BlocksSpec {
  double side_m = 100;    ///< a whole number of cells
  double steep_deg = 25;  ///< a caution where the steepest slope is above it
  std::vector<std::string>
      chosen;  ///< "QPR 7601-2003": plots of these sites lie there alone; empty: everywhere
  Place place, chosen_place;
};

/// What comes back from the field, and how doubtful a return may be.
struct ReturnsSpec {
  std::filesystem::path folder;                ///< resolved; files are kept there as they came
  std::map<std::string, std::string> columns;  ///< a file's heading -> the form's column
  std::optional<bool> day_first;               ///< 06/07 is 6 July; none: dates written so are doubtful
  double search_from = 0.4;  ///< a species is on a site's form from this score on at any of its plots
  std::map<std::string, std::vector<std::string>> search;  ///< by site, in place of the scores: species codes
  std::filesystem::path observers;  ///< resolved; a table: observer, team, passed, since; empty: none
  std::filesystem::path tests;      ///< resolved; a table: observer, shown, named; empty: none
  std::filesystem::path photos;     ///< resolved; a folder; empty: none
  std::vector<std::filesystem::path> earlier;  ///< resolved; stores of earlier seasons
  /// Highest believable count per plot, by "PTUB" or "QPR PTUB" (which goes before).
  std::map<std::string, int> most;
  double far_m = 15;   ///< a fix farther from its plot than this and its accuracy is doubtful
  int close_days = 5;  ///< days before a window closes from which outstanding plots are named
  int shift_days = 0;  ///< all windows earlier (negative) or later
  Place place;
};

/// How estimates are made.
struct EstimateSpec {
  double confidence = 0.90;
  std::vector<std::string> by;  ///< site attributes to estimate by
  double moved_m = 5;           ///< a plot found farther from where it was is treated as a new one
  Place place;
};

/// Days on which nobody may go there, month and day of the season's year, or one year's.
struct ClosureSpec {
  std::vector<std::string> sites;  ///< codes; empty: all
  DayOfYear from, until;           ///< both closed; over the turn of the year where until is before from
  std::optional<int> year;         ///< of that season only
  std::string reason;              ///< "turkey season", "burn", "flood", "mowing"
  Place place;
};

/// What a landowner has said: a status word and dates, nobody's name.
struct PermissionSpec {
  std::string status = "asked";  ///< yes, asked, no, withdrawn
  std::optional<DayOfYear> from, until;
  std::string note;  ///< "call the evening before"
  Place place;
};

/// Visits: how much weather they must allow for, and the people there are.
struct VisitsSpec {
  int weather_days = 5;        ///< open days that a visit has beyond one, for bad weather
  std::optional<int> year;     ///< of the season; none: [panels] year, else this year
  double hours_per_week = 14;  ///< of one person in the field
  std::vector<ClosureSpec> closures;
  std::map<std::string, PermissionSpec> permission;  ///< by site
  std::map<std::string, int> people;                 ///< by team, where the list of observers does not tell
  std::filesystem::path table;  ///< resolved; assignments as the coordinator changed them; empty: none
  Place place;
};

/// A caution for some sites, habitats or days. Where several of them are given, all must fit; of several
/// classes of one layer, one must have been met.
struct CautionSpec {
  std::string text;
  std::vector<std::string> sites;     ///< codes; empty: all
  std::vector<std::string> habitats;  ///< values of the attribute [packet] habitat names; empty: all
  std::map<std::string, std::vector<std::string>> classes;  ///< layer -> class codes met at plots; empty: all
  std::optional<DayOfYear> from, until;                     ///< days it holds; none: all
  bool stop = false;  ///< ends a visit, or does not let it begin: "a bull is in the pasture"
  Place place;
};

/// What site sheets show.
struct PacketSpec {
  std::string contact = "[coordinator writes in]";
  std::string habitat;               ///< an attribute of sites, for cautions; empty: none
  std::string grid = "usng";         ///< whose ticks are on the map's edge: usng, utm, degrees
  int pace_cm = 75;                  ///< for the pace count of the scale bar
  std::vector<std::string> stop_if;  ///< at every site: "there is lightning"
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
  TransectSpec transect;
  DeclinationSpec declination;
  PanelsSpec panels;
  PointsSpec points;
  EffortSpec effort;
  BlocksSpec blocks;
  ReturnsSpec returns;
  std::map<std::string, std::vector<std::string>> teams;  ///< team -> codes of the sites it goes to
  Place teams_place;
  EstimateSpec estimate;
  VisitsSpec visits;
  std::vector<CautionSpec> cautions;
  PacketSpec packet;
  std::filesystem::path traits;  ///< resolved; characters for identification; empty: none
  [[nodiscard]] const LayerSpec* layer(const std::string& layer_name) const;
};

}  // namespace swardline
