// The draw of a season: survey areas, strata, numbers, pins, plots and the certificate.
#pragma once

#include <array>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/design/drawing.hpp"
#include "swardline/design/plot_area.hpp"
#include "swardline/design/site.hpp"
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
  /// n/A of its stratum; of a segment n/N over its own area, so that times `inside_m2` it is the chance of
  /// a plant there. Spares carry what planned plots carry.
  double chance_per_m2 = 0;
  double weight_m2 = 0;        ///< its inverse; 0 for a spare until it is used
  double east = 0, north = 0;  ///< plan coordinates, whole millimetres
  double lat = 0, lon = 0;     ///< WGS84
  double bearing_deg = 0;      ///< true bearing of the belt or square's axis, whole degrees when random
  double grid_bearing_deg = 0;
  double inside_m2 = 0;
  double twice_m2 = 0;
  std::string tape;                    ///< edge distances in words; of a segment, where it lies
  std::optional<double> score;         ///< of the strata's `score_of`; none where nothing is scored
  std::string held_down_by;            ///< of the species that gave the score
  std::map<std::string, int> percent;  ///< by species code, where scored
  std::string status = "planned";      ///< "planned", "spare"
  std::string why;                     ///< shortfalls and replacements in words
  int walk = 0;                        ///< walking order within the site, from 1; 0 for spares
  double metres_from_last = 0;         ///< by the way past barriers; the straight line where there is none
  /// Of a segment of a linear site: its side ("left", "right"; empty for plots) and metres along the line.
  std::string side;
  double from_m = 0, to_m = 0;
  std::optional<Geometry> outline;  ///< a segment's ground; not in the store
  std::string beyond;  ///< barriers that keep a team from it, in words; not in the store, which has `why`
};

struct StratumCertificate {
  Stratum stratum;
  StratumDraw draw;  ///< pins left out
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

struct Certificate {
  std::uint64_t seed = 0;
  std::string season;  ///< the plan's name
  std::string unit;    ///< what was drawn, in words: "belt, 2 m × 10 m"
  double unit_area_m2 = 0;
  double apart_m = 0;  ///< asked between plots of one stratum
  std::vector<SiteCertificate> sites;
  std::vector<StratumCertificate> strata;
  std::vector<std::string> routes;      ///< PROJ operations used
  std::vector<std::string> allocation;  ///< in words: numbers asked, shared out, changed
  std::vector<std::string> merged;      ///< strata that others joined, in words
  std::vector<std::string> shortfalls;  ///< in words; not empty means exit status 1
  std::vector<std::string> methods;     ///< of the methods used, with their sources
  std::optional<Closeness> closeness;   ///< once look_for_close_plots has been called
  std::string inputs;                   ///< fingerprint
};

/// What Certificate::inputs is taken of.
inline constexpr const char* what_inputs_are =
    "the contents of the plan, the sheets, the survey areas and the layers' files; of layers' files above 64 "
    "MiB the sizes and times";

struct SeasonDraw {
  std::vector<Stratum> strata;  ///< by id
  std::vector<Plot> plots;      ///< by site, planned before spares, walking order not implied
  Certificate certificate;
};

struct DrawOptions {
  int threads = 1;
  Progress progress;
};

/// Reads only the blocks that meet a survey area. `layers` must hold what `layers_for_draw`
/// (strata.hpp) names. The same plan gives the same plots for any number of threads, order of sites or
/// extent of layers; with `each`, another site changes no site's plots. Throws InputError where the plan
/// cannot be met as it stands: strata that cannot be made, fewer plots than the minimum needs, no
/// spread for an optimal allocation. Plots that do not fit are shortfalls in the certificate.
[[nodiscard]] SeasonDraw draw_season(const Season& season, const Crs& crs, const Sites& sites,
                                     const Layers& layers, const Model& model, const Access& access,
                                     const DrawOptions& options, Flags& flags);

/// Finds pairs of plots of one site that lie nearer than `apart_m` though of different strata (ASK), and
/// pairs that overlap on the ground, whatever `apart_m` is (NOTE), and puts both into the certificate. To
/// be called once the plots have names; plots without are called by stratum and order.
void look_for_close_plots(const Plan& plan, const Sites& sites, SeasonDraw& draw, Flags& flags);

/// ASK "plot beyond a barrier" for named plots that no way leads to, a site and barrier at a time.
void check_reached(const std::vector<Plot>& plots, const Access& access, Flags& flags);

/// The certificate as JSON (RFC 8259), two blanks a level, keys always in the same order.
[[nodiscard]] std::string to_json(const Certificate& certificate);

}  // namespace swardline
