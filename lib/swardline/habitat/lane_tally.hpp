// Covered areas by site and what lanes of species score there. Private to the stage.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/habitat/byte_lanes.hpp"
#include "swardline/habitat/site_sums.hpp"

namespace swardline {

/// Of one set of lanes. One per worker; `Tile` as from a LayerReader over Model::layers_needed().
class LaneTally {
 public:
  LaneTally(const ByteLanes& lanes, const Model::Inside& model, std::size_t areas);
  /// Counts `cells` cells of the tile from `first` on.
  void count(const Tile& tile, std::size_t first, std::size_t cells);
  /// What was counted since the last time is ground of this area, `cell_mm2` a cell.
  void give_to(std::size_t area, std::int64_t cell_mm2);
  /// A cell that is covered in part.
  void add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2);
  void add(const LaneTally& other);
  [[nodiscard]] const std::vector<std::size_t>& species() const { return lanes_.species(); }
  [[nodiscard]] const SiteSums& sums(std::size_t area, std::size_t lane) const {
    return sums_[area * species().size() + lane];
  }

 private:
  void count_each(const Tile& tile, std::size_t first, std::size_t count, std::size_t lane);
  void add_cell(SiteSums& sums, const Tile& tile, std::size_t cell, std::size_t lane, const Verdict& verdict,
                std::int64_t mm2) const;

  const ByteLanes& lanes_;
  const Model::Inside& model_;
  ByteLanes::Work work_;
  std::size_t row_ = 0;                ///< how far the lanes' counts are apart
  std::vector<std::uint32_t> counts_;  ///< cells, by lane and key
  std::vector<std::uint8_t> slot_;     ///< beside counts_: where cells of this key are added up
  std::vector<SiteSums> each_;         ///< by lane: cells that were looked at one by one, a mm² each
  std::vector<SiteSums> sums_;         ///< by area, then lane
};

}  // namespace swardline
