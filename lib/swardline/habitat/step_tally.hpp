// Covered areas by site and what step lanes of species score there. Private to the stage.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "swardline/habitat/kernel.hpp"
#include "swardline/habitat/lane_sums.hpp"
#include "swardline/habitat/step_lanes.hpp"

namespace swardline {

/// Of one set of lanes. One per worker; `Tile` as from a LayerReader over Model::layers_needed().
class StepTally : public LaneSums {
 public:
  StepTally(const StepLanes& lanes, const Model::Inside& model, std::size_t areas);
  /// Counts `cells` cells of the tile from `first` on.
  void count(const Tile& tile, std::size_t first, std::size_t cells);
  /// What was counted since the last time is ground of this area, `cell_mm2` a cell.
  void give_to(std::size_t area, std::int64_t cell_mm2);
  /// A cell that is covered in part.
  void add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2);
  using LaneSums::add;

 private:
  static constexpr std::size_t keys = 256;
  /// Lanes' counts do not lie 1,024 bytes apart: processors take counts a multiple of 4,096 apart for one.
  static constexpr std::size_t row = keys + 16;
  /// Cells of one lane that are to be scored by themselves, put side by side until there are many.
  struct Aside {
    Tile tile;
    std::size_t cells = 0;
  };
  template <std::size_t Width>
  void count_keys(const Tile& tile, std::size_t first, std::size_t count);
  void put_aside(const Tile& tile, std::size_t cell, const StepLanes::Key* keys_of_cell);
  void score_aside(std::size_t lane);

  const StepLanes& lanes_;
  StepLanes::Work work_;
  std::vector<std::size_t> slots_;
  std::vector<SpeciesKernel> kernels_;  ///< by lane
  std::vector<Aside> aside_;            ///< by lane
  std::vector<std::uint8_t> percent_, category_;
  std::array<std::uint32_t, StepLanes::lanes * row> counts_{};  ///< cells, by lane and key
};

}  // namespace swardline
