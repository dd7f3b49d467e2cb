// A site's map as it stands in a page beside many others: small, its plots marked by what became of them.
// Private to this folder.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/report/map_cells.hpp"
#include "swardline/report/map_layout.hpp"

namespace swardline {

/// What became of a plot, told apart by shape.
enum class MarkKind { found, none_found, not_counted, no_return, spare, resting, not_in_use };
[[nodiscard]] const char* word(MarkKind kind);  ///< "counted, none found"

struct SeasonMark {
  std::string name;
  MarkKind kind = MarkKind::spare;
  double east = 0, north = 0;
  std::string record;  ///< id of the row that tells of it
};

struct SeasonMap {
  const Site& site;
  std::string id;       ///< a plain word, one of its kind on the page
  std::string message;  ///< the map in a sentence
  const Grid& grid;
  std::size_t bands = 1;                   ///< of scores
  double convergence_deg = 0;              ///< as drawn_convergence_deg gives it
  std::vector<SeasonMark> marks;           ///< in the order the keyboard goes
  std::vector<const Transect*> transects;  ///< drawn as lines
  double reach_m = 0;                      ///< of a plot
};

/// Reads the ground of a window as at most as many cells.
using GroundReader = std::function<SiteCells(const Window& window, int most_cells)>;

/// An SVG element for a page that holds `season_map_definitions` once.
[[nodiscard]] std::string svg_season_map(const SeasonMap& map, const GroundReader& ground, int most_cells);
/// Textures of bands, hatching and dots, shared by all maps of a page.
[[nodiscard]] std::string season_map_definitions(std::size_t bands);
/// What shades and marks mean; of the marks, those in use.
[[nodiscard]] std::string svg_season_legend(const std::vector<double>& bands, const std::string& score_of,
                                            const std::vector<MarkKind>& kinds, const std::string& unit);
/// Rules for the page.
extern const char* const season_map_style;

}  // namespace swardline
