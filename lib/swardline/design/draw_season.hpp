// The draw of a season: survey areas, strata, numbers, pins, plots and the certificate.
#pragma once

#include <array>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/panels.hpp"
#include "swardline/design/plot_area.hpp"
#include "swardline/design/site.hpp"
#include "swardline/design/site_cells.hpp"
#include "swardline/design/strata_record.hpp"
#include "swardline/design/stratum.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

/// One plot, with its chance.
struct Plot {
  std::string name;  ///< given by field/names
  std::string site;
  std::string stratum;
  int order = 0;  ///< draw order within the stratum, from 1; planned and spares apart
  bool spare = false;
  /// n/F of its stratum (Stratum::frame_m2), or n·w/Σ(w·A) where chances are in proportion to a weight; of a
  /// segment n/N over its own area, so that times `inside_m2` it is the chance of a plant there. Spares carry
  /// what planned plots carry.
  double chance_per_m2 = 0;
  double weight_m2 = 0;        ///< 1 / chance_per_m2; 0 for a spare until it is used
  double east = 0, north = 0;  ///< plan coordinates, whole millimetres
  double lat = 0, lon = 0;     ///< WGS84
  double bearing_deg = 0;      ///< true bearing of the belt or square's axis, whole degrees when random
  double grid_bearing_deg = 0;
  double plot_m2 = 0;
  double inside_m2 = 0;                ///< searched
  double twice_m2 = 0;                 ///< counted a second time, see PlotArea
  double pin_outside_m = 0;            ///< metres from a pin outside the survey area to it
  std::string tape;                    ///< edge distances in words; of a segment, where it lies
  std::optional<double> score;         ///< of the strata's `score_of`; none where nothing is scored
  std::string held_down_by;            ///< of the species that gave the score
  std::map<std::string, int> percent;  ///< by species code, where scored; of a transect the mean along it
  std::map<std::string, std::string> held_down;  ///< by species code, see CellReading
  /// "planned", "spare", "resting" (its panel is not due), "outside the survey area since SEASON"
  std::string status = "planned";
  std::string why;              ///< shortfalls and replacements in words
  int walk = 0;                 ///< walking order within the site, from 1; 0 for spares
  double metres_from_last = 0;  ///< by the way past barriers; the straight line where there is none
  std::string panel;            ///< its panel's name; empty without panels
  double panel_chance_per_m2 =
      0;                     ///< of its panel alone; chance_per_m2 is that of all panels due this season
  std::string first_season;  ///< that gave it its name; empty: this one
  /// Counted or held ready this season: neither resting nor outside the survey area.
  [[nodiscard]] bool due() const { return status == "planned" || status == "spare"; }
  /// What else than a plot or a spare the place is, in files for units: "transect start", "station".
  std::string kind;
  std::optional<double> magnetic_bearing_deg;  ///< where the plan gives a declination; not in the store
  /// Of a segment of a linear site: its side ("left", "right"; empty for plots) and metres along the line.
  std::string side;
  double from_m = 0, to_m = 0;
  [[nodiscard]] bool segment() const { return !side.empty(); }
  std::optional<Geometry> outline;  ///< a segment's ground; not in the store
  std::string beyond;  ///< barriers that keep a team from it, in words; not in the store, which has `why`
  std::string round_outside;  ///< what its way goes round outside the site, in words; not in the store
};

/// One frame of a transect.
struct TransectStation {
  int number = 0;     ///< along the tape, from 1
  double tape_m = 0;  ///< mark where the frame begins
  double inside_m2 = 0, twice_m2 = 0;
  bool folded = false;  ///< reached on the way back
  double east = 0, north = 0, lat = 0, lon = 0;
};

/// One transect, the sampling unit, with its chance.
struct Transect {
  /// Its start, where the tape begins: name, site, order, chance, ground and walk as of plots. The chance is
  /// of starts: planned transects over the square metres that starts are drawn from.
  Plot unit;
  double start_ground_m2 = 0;
  std::optional<double> magnetic_bearing_deg;
  double length_m = 0;    ///< counted, horizontal
  double tape_m = 0;      ///< to lay, along the ground
  std::string parts;      ///< tape marks inside: "0.0-17.0; 21.0-25.0"
  std::string stake_out;  ///< what a team does, in words
  Geometry line;          ///< the parts inside, plan coordinates
  double end_lat = 0, end_lon = 0;
  std::vector<TransectStation> stations;
};

/// A line placed by hand: kept, without a chance, and out of every estimate.
struct ReferenceLine {
  std::string name, site;
  double length_m = 0;
  std::optional<double> tape_m;
  Geometry line;
  double lat = 0, lon = 0;  ///< of its first point
};

/// A name given in an earlier season.
struct EarlierName {
  std::string name, first_season, plot;
};

/// Plots of earlier seasons, in plan coordinates, and what is known of where they come from.
struct KeptPlots {
  std::vector<Plot> plots;
  std::vector<EarlierName> names;  ///< never used again
  std::string record;              ///< fingerprint of the strata of record they were drawn from; may be empty
  Place place;                     ///< the file they were read from
};

struct StratumCertificate {
  Stratum stratum;
  StratumDraw draw;  ///< pins left out
  /// Square metres that planned units are drawn from: a unit's chance per square metre is one over it.
  [[nodiscard]] double drawn_from_m2() const {
    return draw.start_ground_m2 > 0 ? draw.start_ground_m2 : stratum.frame_m2();
  }
};

/// The edge rule, and what it loses in words.
struct EdgeCertificate {
  EdgeRule rule = EdgeRule::walk_through;
  std::vector<std::string> losses;
  std::string of_transects = {};  ///< what is done where a line leaves, in place of `rule`; empty for plots
};

/// Pairs of plots of one site.
struct ClosePairs {
  int planned = 0, with_spares = 0;  ///< both planned; one or both spares
  /// Of the nearest, or the most overlapping; of planned plots if there are any.
  std::array<std::string, 2> names;
  double extreme = 0;  ///< their metres, or square metres
  [[nodiscard]] bool any() const { return planned + with_spares > 0; }
};

/// What the rule of distances within a stratum leaves open.
struct Closeness {
  double apart_m = 0;             ///< asked between plots of one stratum
  ClosePairs near_across_strata;  ///< nearer than that, of different strata
  ClosePairs overlapping;         ///< of any strata, on ground of the survey area
  double overlap_m2 = 0;          ///< summed over the pairs of planned plots
};

/// One site in the certificate.
struct SiteCertificate {
  std::string code, name;
  double survey_m2 = 0;
  int planned = 0, spares = 0;  ///< drawn
};

/// What a species' total can be expected to be known to with the numbers of plots given.
struct ExpectedError {
  std::string species;
  double target = 0;               ///< relative standard error wanted, as a share
  std::optional<double> expected;  ///< none where ground with spread has no plot
};

struct Certificate {
  std::uint64_t seed = 0;
  std::string season;  ///< the plan's name
  std::string unit;    ///< what was drawn, in words: "belt, 2 m × 10 m"
  double unit_area_m2 = 0;
  double apart_m = 0;  ///< asked between plots of one stratum
  std::vector<SiteCertificate> sites;
  std::vector<ChosenGround> chosen;  ///< where plots were held to chosen blocks
  EdgeCertificate edge;
  std::vector<StratumCertificate> strata;
  std::vector<std::string> routes;      ///< PROJ operations used
  std::vector<std::string> allocation;  ///< in words: numbers asked, shared out, changed
  std::vector<std::string> merged;      ///< strata that others joined, in words
  std::vector<ExpectedError> expected;  ///< by species, where the plan gives spreads for species
  std::vector<std::string> shortfalls;  ///< in words; not empty means exit status 1
  std::vector<std::string> methods;     ///< of the methods used, with their sources
  std::optional<Closeness> closeness;   ///< once look_for_close_plots has been called
  std::string inputs;                   ///< fingerprint
  std::vector<std::string> record;      ///< the strata of record in words: versions in force, what changed
  std::vector<std::string> kept;        ///< plots of earlier seasons, in words
  std::optional<PanelTable> panels;
  std::string record_fingerprint;  ///< of the version that began anew; empty when none is kept
  /// Whether chances differ within a stratum.
  [[nodiscard]] bool weighted() const;
};

/// What Certificate::inputs is taken of.
inline constexpr const char* what_inputs_are =
    "the contents of the plan, the sheets, the survey areas and the layers' files; of layers' files above 64 "
    "MiB the sizes and times";

struct SeasonDraw {
  std::vector<Stratum> strata;      ///< by id
  std::vector<Plot> plots;          ///< by site, planned before spares, walking order not implied
  std::vector<Transect> transects;  ///< in place of plots where transects are the unit; in the same order
  std::vector<ReferenceLine> reference_lines;
  Certificate certificate;
  std::vector<EarlierName> earlier_names;  ///< of kept plots' seasons; never used again
  std::string panels_record;               ///< what `record/panels.toml` is to hold; empty without panels
  std::shared_ptr<RecordDraft> record;     ///< strata to add to the record; the caller publishes them
  /// The ground of each site (beside Sites::sites) where it could be taken while the strata were made: where
  /// they are made now and by the score alone. Else without codes, or empty.
  std::vector<SiteCells> site_cells;
};

struct DrawOptions {
  int threads = 1;
  Progress progress;
  RecordOptions record;
  KeptPlots kept;
  int map_cells = 0;  ///< at most so many thinned cells of each site are kept, for its map
};

/// Reads only the blocks that meet a survey area. `layers` must hold what `layers_for_draw`
/// (strata.hpp) names; where blocks are chosen, keep_chosen_blocks (blocks.hpp) comes before. The same plan
/// gives the same plots for any number of threads, order of sites or extent of layers; with `each`, another
/// site changes no site's plots. Throws InputError where the plan cannot be met as it stands: strata that
/// cannot be made, fewer plots than the minimum needs, no spread for an optimal allocation, panels changed
/// mid-cycle, panels or kept plots beside transects or linear sites. Plots that do not fit are shortfalls in
/// the certificate. Kept plots stay where they are with their names and chances, and their strata get no
/// others; those no longer in the survey area come last, with a status that says so.
[[nodiscard]] SeasonDraw draw_season(const Season& season, const Crs& crs, const Sites& sites,
                                     const Layers& layers, const Model& model, const Access& access,
                                     const DrawOptions& options, Flags& flags);

/// STOP where a transect is longer than a site is in any direction.
void check_transect_length(const Plan& plan, const Sites& sites, Flags& flags);

/// Finds pairs of plots of one site that lie nearer than `apart_m` though of different strata (ASK), and
/// pairs that overlap on the ground, whatever `apart_m` is (NOTE), and puts both into the certificate. To
/// be called once the plots have names; plots without are called by stratum and order.
void look_for_close_plots(const Plan& plan, const Sites& sites, SeasonDraw& draw, Flags& flags);

/// ASK "plot beyond a barrier" for named plots that no way leads to, and "way outside the site" for those
/// that are reached only by leaving it and coming back, a site and barrier at a time.
void check_reached(const std::vector<Plot>& plots, const Access& access, Flags& flags);

/// The certificate as JSON (RFC 8259), two blanks a level, keys always in the same order.
[[nodiscard]] std::string to_json(const Certificate& certificate);

}  // namespace swardline
