// What colour each cell of a site's map gets. Private to this folder.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/design/site_cells.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

/// Scores windows for the maps as the strata see them: by the plan's `score_of`; ground is excluded where
/// every scored species excludes it. One reader serves all sites, so that files are opened and cells of
/// warped layers made once.
class MapCellReader {
 public:
  MapCellReader(const Season& season, const Layers& layers, const Model& model);
  /// At most `most_cells` codes. Reads row by row; memory depends on the window's width only.
  [[nodiscard]] SiteCells read(const Window& window, int most_cells);

 private:
  [[nodiscard]] std::uint8_t code(std::size_t cell) const;

  std::vector<double> bands_;
  bool mean_ = false;
  std::vector<bool> counts_;                 ///< by species: in `score_of`
  std::vector<std::vector<bool>> excluded_;  ///< by species and held-down category
  LayerReader reader_;
  Scorer scorer_;
  Tile tile_;
  ScoreTile scores_;
};

}  // namespace swardline
