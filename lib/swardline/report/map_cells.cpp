#include "swardline/report/map_cells.hpp"

#include <algorithm>

#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

// The code of one cell under `score_of`.
class Coder {
 public:
  Coder(const Season& season, const Model& model) : bands_(season.plan.strata.bands) {
    const std::string& of = season.plan.strata.score_of;
    mean_ = of == "mean";
    for (std::size_t s = 0; s < model.species().size(); ++s)
      if (of == "best" || mean_ || model.species()[s].code == of) used_.push_back(s);
    for (const ScoredSpecies& species : model.species()) {
      std::vector<bool> excluded;
      for (const HeldDown& category : species.categories)
        excluded.push_back(category.kind == HeldDown::Kind::excluded);
      excluded_.push_back(std::move(excluded));
    }
  }

  [[nodiscard]] std::uint8_t code(const ScoreTile& tile, std::size_t cell) const {
    int highest = -1;
    int sum = 0;
    int scored = 0;
    bool all_excluded = true;
    for (const std::size_t s : used_) {
      const SpeciesTile& species = tile.species[s];
      if (species.percent[cell] == no_percent) {
        all_excluded = all_excluded && excluded_[s][species.held_down[cell]];
        continue;
      }
      all_excluded = false;
      highest = std::max(highest, int(species.percent[cell]));
      sum += species.percent[cell];
      ++scored;
    }
    if (scored > 0) return std::uint8_t(band_of(bands_, mean_ ? (2 * sum + scored) / (2 * scored) : highest));
    return all_excluded ? map_excluded : map_no_score;
  }

 private:
  const std::vector<double>& bands_;
  bool mean_ = false;
  std::vector<std::size_t> used_;
  std::vector<std::vector<bool>> excluded_;
};

}  // namespace

MapCells map_cells(const Season& season, const Layers& layers, const Model& model, const Window& window,
                   int most_cells) {
  MapCells map;
  map.window = window;
  while (std::int64_t((window.cols + map.step - 1) / map.step) * ((window.rows + map.step - 1) / map.step) >
         most_cells)
    ++map.step;
  map.cols = (window.cols + map.step - 1) / map.step;
  map.rows = (window.rows + map.step - 1) / map.step;
  map.codes.reserve(std::size_t(map.cols) * std::size_t(map.rows));

  const Coder coder(season, model);
  LayerReader reader(layers, model.layers_needed());
  Scorer scorer(model);
  Tile tile;
  ScoreTile scores;
  for (int row = 0; row < map.rows; ++row) {
    // One strip of a single row of cells: what is read does not depend on the window asked for.
    const int middle = std::min(row * map.step + map.step / 2, window.rows - 1);
    reader.read({window.col, window.row + middle, window.cols, 1}, tile);
    scorer.score(tile, scores);
    for (int col = 0; col < map.cols; ++col)
      map.codes.push_back(
          coder.code(scores, std::size_t(std::min(col * map.step + map.step / 2, window.cols - 1))));
  }
  return map;
}

}  // namespace swardline
