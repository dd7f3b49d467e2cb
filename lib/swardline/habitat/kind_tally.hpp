// Covered areas by site and joint number of the cells. Every cell is counted once for all species of a group;
// what each species makes of a number is worked out once a number. Private to the stage.
#pragma once

#include <cstdint>
#include <unordered_map>
#include <vector>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

/// Of one joint group. One per worker; `Tile` as from a LayerReader over Model::layers_needed().
class KindTally {
 public:
  KindTally(const JointGroup& group, std::size_t areas);
  /// Counts `cells` cells of the tile from `first` on.
  void count(const Tile& tile, std::size_t first, std::size_t cells);
  /// What was counted since the last time is ground of this area, `cell_mm2` a cell.
  void give_to(std::size_t area, std::int64_t cell_mm2);
  /// A cell that is covered in part.
  void add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2);
  void add(const KindTally& other);
  /// Calls `visit(number, mm2)` for every number with ground in the area, in no order.
  template <typename Visit>
  void each(std::size_t area, Visit&& visit) const {
    if (few_) {
      for (std::uint32_t number = 0; number < group_.entries; ++number) {
        if (const std::int64_t mm2 = dense_[area * group_.entries + number]; mm2 != 0) visit(number, mm2);
      }
    } else {
      for (const auto& [number, mm2] : sparse_[area]) visit(number, mm2);
    }
  }

 private:
  [[nodiscard]] std::uint32_t number_of(const Tile& tile, std::size_t cell) const;
  void count_pairs(const Tile& tile, std::size_t first, std::size_t cells);
  void count_many(const Tile& tile, std::size_t first, std::size_t cells);

  const JointGroup& group_;
  bool few_;                         ///< numbers: every area has a place for each
  std::vector<std::int64_t> dense_;  ///< few: mm², area × number
  std::vector<std::unordered_map<std::uint32_t, std::int64_t>> sparse_;  ///< many: mm², by area
  std::vector<std::uint16_t> of_pair_;  ///< few numbers of two layers: the number, by both bytes
  std::size_t row_ = 0;                 ///< of few: how far rows of counts are apart
  std::vector<std::uint32_t> counts_;   ///< cells by number; of few in several rows
  std::vector<std::uint32_t> met_;      ///< of many: numbers counted
  std::vector<std::uint32_t> numbers_;  ///< of the cells being counted
};

}  // namespace swardline
