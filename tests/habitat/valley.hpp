// A small made-up valley: byte and float layers, two species, three sites. For the streaming tests.
#pragma once

#include "fixture.hpp"
#include "swardline/habitat/score_season.hpp"

namespace habitat_test {

struct Valley {
  Folder folder;
  std::map<std::string, Raster> rasters;
  swardline::Season season;
  std::vector<swardline::NamedArea> sites;

  /// 10 m cells; the layers' north-west corner is no corner of a block of the grid.
  explicit Valley(int cols = 300, int rows = 290);
  void write(const std::string& layer) { write_raster(folder / (layer + ".tif"), rasters.at(layer)); }
  swardline::Layers open(swardline::Flags& flags) const;
  swardline::ScoreResult score(const swardline::ScoreOptions& options) const;
  [[nodiscard]] swardline::ScoreOptions options(int threads = 1) const;
  /// What a cell (counted from the layers' north-west corner) holds in a layer, for score_cell.
  [[nodiscard]] swardline::LayerValue value(const std::string& layer, int x, int y) const;
};

/// Score × 100 of both species straight from the formula, NaN where there is none.
double cobaea_by_hand(const Valley& valley, int x, int y);
double tubaeflorus_by_hand(const Valley& valley, int x, int y);

}  // namespace habitat_test
