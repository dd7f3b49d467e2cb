// Scoring a whole season: maps, and hectares per band for every site and species.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/base/progress.hpp"
#include "swardline/grid/cover.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

struct ScoreOptions {
  bool maps = true;       ///< write out/score and out/held-down
  bool as_float = false;  ///< Float32 score maps
  bool cog = false;       ///< cloud-optimised layout (GDAL's COG driver)
  bool force = false;     ///< write maps anew that are there as they would be written
  int threads = 1;
  std::filesystem::path out;  ///< folder of the maps
  std::vector<double> bands;  ///< inner edges, whole percents / 100
  Progress progress;
};

/// One row of the site table. Areas are exact covered areas and add up to the site's.
struct SiteSpeciesScores {
  std::string site;  ///< code, or "all" for the whole survey area together
  std::string species;
  double mean = 0;  ///< area-weighted mean of scored ground's whole percents, as 0…1; NaN when none
  std::vector<double> band_m2;  ///< square metres per band, low to high
  double excluded_m2 = 0;
  double no_score_m2 = 0;
  double reweighted_share = 0;  ///< share of scored ground where a modifying factor had no data
};

struct ScoreResult {
  std::vector<SiteSpeciesScores> table;      ///< by site in the order given, then species
  std::vector<std::filesystem::path> files;  ///< maps: by species the score map, then the held-down map
  std::string fingerprint;                   ///< of layers, sheets and grid
  /// By species code, of all that its maps follow from: its layers, its sheet, the grid, how they are drawn.
  std::map<std::string, std::string> map_fingerprints;
  std::vector<std::string> kept;  ///< codes of species whose maps were there as they would be written
};

/// Streams over the layers in tiles, one window per thread in memory. With maps every cell of the
/// layers' extent is read, with tables only just the windows the sites meet. The table ends with
/// "all", where ground of overlapping sites counts once. A class value no legend names is an
/// InputError with the value and its cell count in what was read; all of them are found before
/// anything is published. Maps: `score/<code>.tif` and `held-down/<code>.tif` under `options.out`,
/// Byte with 255 for no data (Float32 with NaN when `as_float`), in tiles of 256, with overviews,
/// statistics and the species' fingerprint; those of a species whose fingerprint is still the same are kept;
/// held-down maps name their categories (also as band metadata CATEGORY_0 …). All maps appear, or none:
/// IoError otherwise.
[[nodiscard]] ScoreResult score_season(const Season& season, const Layers& layers, const Model& model,
                                       const std::vector<NamedArea>& sites, const ScoreOptions& options,
                                       Flags& flags);

/// "0.50–0.75" for band `index` of these inner edges; `ascii` gives "50-75" (strata identities).
[[nodiscard]] std::string band_text(const std::vector<double>& bands, std::size_t index);
[[nodiscard]] std::string band_id(const std::vector<double>& bands, std::size_t index);
/// Band of a whole percent: [lo, hi), the last closed.
[[nodiscard]] std::size_t band_of(const std::vector<double>& bands, int percent);

/// One known patch, scored. A multipoint stands at its first point.
struct PatchScore {
  std::string patch;  ///< feature's name or number
  std::string species;
  bool here = true;  ///< known to be there, or known not to be
  CellScore cell;    ///< at the point, or at the best-covered cell of a polygon
  Place place;
  int rank = 0;  ///< 1 = highest among this species' patches
};
/// Scores the plan's known patches: points or polygons with the attributes `species` (a code),
/// `here` (yes or no) and, if they like, `name`. By species, highest first; equal scores share a
/// rank, excluded ground comes last, a patch without a score has rank 0. A missing attribute, an
/// unknown species or a line is a STOP; a plant known to be where its rule says 0.04 or less, or excludes the
/// ground, is an ASK.
[[nodiscard]] std::vector<PatchScore> score_patches(const Season& season, const Layers& layers,
                                                    const Crs& crs, Flags& flags);

/// A place explained: every species' factors, values, responses and what holds the score down.
struct PlaceExplained {
  Point at;  ///< plan coordinates
  std::int64_t col = 0, row = 0;
  std::vector<std::pair<std::string, CellScore>> species;  ///< by code
};
[[nodiscard]] PlaceExplained explain(const Season& season, const Layers& layers, Point at);
/// As text a botanist can read, lowest factor first.
[[nodiscard]] std::string in_words(const PlaceExplained& place, const Season& season,
                                   const std::string& heading);

}  // namespace swardline
