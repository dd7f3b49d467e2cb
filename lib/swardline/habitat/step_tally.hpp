// Covered areas by site and what step lanes of species score there. Private to the stage.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "swardline/habitat/kernel.hpp"
#include "swardline/habitat/site_sums.hpp"
#include "swardline/habitat/step_lanes.hpp"

namespace swardline {

/// Of one set of lanes. One per worker; `Tile` as from a LayerReader over Model::layers_needed().
class StepTally {
 public:
  StepTally(const StepLanes& lanes, const Model::Inside& model, std::size_t areas);
  /// Counts `cells` cells of the tile from `first` on.
  void count(const Tile& tile, std::size_t first, std::size_t cells);
  /// What was counted since the last time is ground of this area, `cell_mm2` a cell.
  void give_to(std::size_t area, std::int64_t cell_mm2);
  /// A cell that is covered in part.
  void add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2);
  void add(const StepTally& other);
  [[nodiscard]] const std::vector<std::size_t>& species() const { return lanes_.species(); }
  [[nodiscard]] const SiteSums& sums(std::size_t area, std::size_t lane) const {
    return sums_[area * species().size() + lane];
  }

 private:
  static constexpr std::size_t keys = 256;
  void count_uncertain(const Tile& tile, std::size_t cell, const StepLanes::Key* keys_of_cell);
  void add_cell(SiteSums& sums, const Tile& tile, std::size_t cell, std::size_t lane, std::int64_t mm2);

  const StepLanes& lanes_;
  const Model::Inside& model_;
  StepLanes::Work work_{};
  std::vector<SpeciesKernel> kernels_;  ///< by lane, for cells by themselves
  std::array<std::array<std::uint32_t, keys>, StepLanes::lanes> counts_{};  ///< cells, by lane and key
  std::vector<SiteSums> each_;  ///< by lane: cells that were scored one by one, a mm² each
  std::vector<SiteSums> sums_;  ///< by area, then lane
};

}  // namespace swardline
