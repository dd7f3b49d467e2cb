// Cells numbered by what the rules can tell apart: cells of one number score alike for every species, so
// whatever follows from scores is worked out once a number and not once a cell.
#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "swardline/habitat/model.hpp"

namespace swardline {

class PlaceKinds {
 public:
  /// Nothing where a scored species reads a layer that is not held as bytes, or where the layers together
  /// hold too many combinations for a table (2^20).
  static std::optional<PlaceKinds> of(const Model& model);
  /// How many numbers there are.
  [[nodiscard]] std::uint32_t count() const { return count_; }
  /// The number of every cell. `tile` must come from a LayerReader over Model::layers_needed().
  void read(const Tile& tile, std::vector<std::uint32_t>& kinds) const;
  /// A tile of one cell that has this number, for a Scorer.
  [[nodiscard]] Tile example(std::uint32_t kind) const;

 private:
  PlaceKinds(const Model& model, std::uint32_t count) : model_(model), count_(count) {}

  Model model_;
  std::uint32_t count_;
};

}  // namespace swardline
