#include "swardline/report/map_cells.hpp"

#include <algorithm>

#include "swardline/habitat/score_season.hpp"

namespace swardline {

MapCellReader::MapCellReader(const Season& season, const Layers& layers, const Model& model)
    : bands_(season.plan.strata.bands), reader_(layers, model.layers_needed()), scorer_(model) {
  const std::string& of = season.plan.strata.score_of;
  mean_ = of == "mean";
  for (const ScoredSpecies& species : model.species()) {
    counts_.push_back(mean_ || of == "best" || of == species.code);
    std::vector<bool>& excluded = excluded_.emplace_back();
    for (const HeldDown& category : species.categories)
      excluded.push_back(category.kind == HeldDown::Kind::excluded);
  }
}

std::uint8_t MapCellReader::code(std::size_t cell) const {
  int highest = 0;
  int sum = 0;
  int scored = 0;
  bool all_excluded = true;
  for (std::size_t s = 0; s < counts_.size(); ++s) {
    const SpeciesTile& species = scores_.species[s];
    all_excluded = all_excluded && excluded_[s][species.held_down[cell]];
    if (!counts_[s] || species.percent[cell] == no_percent) continue;
    highest = std::max(highest, int(species.percent[cell]));
    sum += species.percent[cell];
    ++scored;
  }
  if (scored > 0) return std::uint8_t(band_of(bands_, mean_ ? (2 * sum + scored) / (2 * scored) : highest));
  return all_excluded ? map_excluded : map_no_score;
}

SiteCells MapCellReader::read(const Window& window, int most_cells) {
  SiteCells map = thinned(window, most_cells);
  if (counts_.empty()) {  // a season without scored species: nothing excludes, nothing scores
    map.codes.assign(std::size_t(map.cols) * std::size_t(map.rows), map_no_score);
    return map;
  }
  map.codes.reserve(std::size_t(map.cols) * std::size_t(map.rows));
  for (int row = 0; row < map.rows; ++row) {
    // One strip of a single row of cells: what is read does not depend on the window asked for.
    reader_.read({window.col, window.row + map.middle_row(row), window.cols, 1}, tile_);
    scorer_.score(tile_, scores_);
    for (int col = 0; col < map.cols; ++col) map.codes.push_back(code(std::size_t(map.middle_col(col))));
  }
  return map;
}

}  // namespace swardline
