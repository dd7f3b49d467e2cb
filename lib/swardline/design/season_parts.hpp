// The steps of a season's draw, shared by this stage's sources only.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/design/strata.hpp"

namespace swardline::season_parts {

/// "QPR|score=50-75|v1" as messages call it: without the version.
[[nodiscard]] std::string spoken(const std::string& stratum_id);

/// Fingerprint of a file's contents; "-" where there is none.
[[nodiscard]] std::string file_print(const std::filesystem::path& file);

/// A bearing from 0 to below 360 degrees.
[[nodiscard]] double within_circle(double degrees);

/// Spares for so many planned units, rounded up.
[[nodiscard]] int spares_for(const SampleSpec& sample, int planned);

/// Gives every stratum its planned and spare plots; how, in words, and what can be expected of them goes
/// into the certificate. Throws InputError.
void give_numbers(const Plan& plan, const SeasonStrata& ground, std::vector<Stratum>& strata,
                  Certificate& certificate, Flags& flags);

/// A plot of an earlier season and where it lies now.
struct KeptPlot {
  const Plot* plot = nullptr;
  SeasonStrata::PlaceFound place;
  double chance_per_m2 = 0;  ///< over all panels
};

/// Plots of earlier seasons, by stratum of now (planned before spares, in draw order), and those outside
/// every survey area.
struct KeptGround {
  std::vector<std::vector<KeptPlot>> by_stratum;
  std::vector<const Plot*> outside;
  [[nodiscard]] bool in(std::size_t stratum) const {
    return stratum < by_stratum.size() && !by_stratum[stratum].empty();
  }
};

/// Finds the kept plots on the ground. Throws InputError for an old plot under two names, for a name given
/// twice, and where the kept plots come from other strata of record.
[[nodiscard]] KeptGround place_kept(const Plan& plan, const SeasonStrata& ground, const KeptPlots& kept,
                                    const Certificate& certificate);
/// Numbers of strata with kept plots are theirs; says where the plan asks for others.
void keep_numbers(const KeptGround& kept, std::vector<Stratum>& strata, std::vector<std::string>& words);
/// Plots outside every survey area, with a status that says since when.
[[nodiscard]] std::vector<Plot> outside_plots(const KeptGround& kept, const Plan& plan, const Crs& crs);

/// How one stratum's plots are shared over the panels. Empty without panels.
struct PanelShares {
  const PanelScheme* scheme = nullptr;
  std::vector<int> sizes;           ///< planned plots of every panel, as drawn or kept
  std::vector<std::size_t> of_pin;  ///< panel, beside the pins
};

/// One stratum drawn: its pins, the site each fell in and the scores there.
struct DrawnStratum {
  StratumDraw draw;
  std::vector<std::size_t> site;                             ///< beside draw.pins
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;  ///< beside draw.pins, whose scores are theirs
  std::vector<CellReading> readings;                         ///< beside draw.pins
  std::vector<KeptPlot> kept;  ///< beside draw.pins; empty where they were drawn now
  PanelShares panels;
};

/// Numbers over all panels, and of them those due this season.
void give_panel_numbers(const Plan& plan, const PanelScheme& scheme, std::vector<Stratum>& strata);
/// The panels of a stratum's pins.
[[nodiscard]] PanelShares share_panels(const PanelScheme& scheme, const Stratum& stratum,
                                       const DrawnStratum& drawn, const KeptPlots& all_kept);
/// What a plot has from its panel and from earlier seasons: name, status, chances, weight.
void finish_plot(const DrawnStratum& drawn, std::size_t pin, Plot& plot);
[[nodiscard]] PanelTable panel_table(const PanelScheme& scheme, const std::vector<Plot>& plots,
                                     const std::vector<Stratum>& strata);

/// Holds the plan's panels against those that `record/panels.toml` says were begun in an earlier season, and
/// returns what the file is to hold now; empty without panels. Throws InputError with what would be lost.
[[nodiscard]] std::string panels_to_record(const Plan& plan, const std::filesystem::path& record,
                                           const KeptPlots& kept, Flags& flags);

/// The plots of one site, planned before spares, with the walk; `route` gets the transform used, in words.
[[nodiscard]] std::vector<Plot> plots_of_site(const Plan& plan, const Crs& crs, const Sites& sites,
                                              std::size_t site, const Access& access,
                                              const std::vector<Stratum>& strata,
                                              const std::vector<DrawnStratum>& drawn, std::string& route);

/// Puts into the certificate what was drawn where, what was merged and by which methods, in words.
void describe(const Plan& plan, const Sites& sites, SeasonDraw& draw);

/// The order in which a site's plots are walked; planned plots come first in `plots`.
void walk(const Site& site, const Access& access, std::vector<Plot>& plots);

/// The transects of a stratum, not yet named or walked. `drawn` gets how they were drawn, `route` the
/// transform used, both in words.
[[nodiscard]] std::vector<Transect> transects_of_stratum(const Season& season, const Crs& crs,
                                                         const Sites& sites, const Layers& layers,
                                                         const SeasonStrata& ground, std::size_t stratum,
                                                         const Stratum& numbers, StratumDraw& drawn,
                                                         std::string& route);

/// Gives each transect every species' score: the mean of its stations' or, of a belt, of places a cell apart
/// along the line.
void read_line_scores(const SeasonStrata& ground, const Grid& grid, int threads,
                      std::vector<Transect>& transects);

/// By site, planned before spares, each site walked.
[[nodiscard]] std::vector<Transect> in_site_order(const Sites& sites, const Access& access,
                                                  std::vector<Transect> transects);

/// The plan's reference lines; those in no site are an ASK.
[[nodiscard]] std::vector<ReferenceLine> read_reference_lines(const Plan& plan, const Crs& crs,
                                                              const Sites& sites, const Layers& layers,
                                                              Flags& flags);

/// A linear site drawn: its one stratum, and its plots, which are segments of the line.
struct DrawnVerge {
  Stratum stratum;
  StratumDraw draw;
  std::vector<Plot> plots;
  std::string route;  ///< the transform used, in words
};
[[nodiscard]] DrawnVerge draw_verge(const Plan& plan, const Crs& crs, const Site& site, const Access& access,
                                    const SeasonStrata& ground, const Grid& grid);

/// Numbers of a linear site's segments in words.
[[nodiscard]] std::string numbers_in_words(const SampleSpec& sample, const DrawnVerge& verge);

}  // namespace swardline::season_parts
