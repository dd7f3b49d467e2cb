// Covered areas by site and what lanes of species score there. Private to the stage.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/habitat/byte_lanes.hpp"
#include "swardline/habitat/lane_sums.hpp"

namespace swardline {

/// Of one set of lanes. One per worker; `Tile` as from a LayerReader over Model::layers_needed().
class LaneTally : public LaneSums {
 public:
  LaneTally(const ByteLanes& lanes, const Model::Inside& model, std::size_t areas);
  /// Counts `cells` cells of the tile from `first` on.
  void count(const Tile& tile, std::size_t first, std::size_t cells);
  /// What was counted since the last time is ground of this area, `cell_mm2` a cell.
  void give_to(std::size_t area, std::int64_t cell_mm2);
  /// A cell that is covered in part.
  void add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2);
  using LaneSums::add;

 private:
  void count_each(const Tile& tile, std::size_t first, std::size_t count, std::size_t lane);

  const ByteLanes& lanes_;
  ByteLanes::Work work_;
  std::size_t row_ = 0;                ///< how far the lanes' counts are apart
  std::vector<std::uint32_t> counts_;  ///< cells, by lane and key
  std::vector<std::uint8_t> slot_;     ///< beside counts_: where cells of this key are added up
};

}  // namespace swardline
