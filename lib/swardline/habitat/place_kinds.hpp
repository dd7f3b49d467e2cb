// Cells numbered by what the rules can tell apart: cells of one number score alike for every species, so
// whatever follows from scores is worked out once a number and not once a cell.
#pragma once

#include <array>
#include <cstdint>
#include <functional>
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

  [[nodiscard]] const Model& model() const { return model_; }

 private:
  PlaceKinds(const Model& model, std::uint32_t count) : model_(model), count_(count) {}

  Model model_;
  std::uint32_t count_;
};

/// What follows from a cell's number, a byte each, looked up for all cells of a tile. One per thread.
class KindCodes {
 public:
  /// `code_of` is asked once a number that is met, and never gives 255.
  KindCodes(const PlaceKinds& kinds, std::function<std::uint8_t(std::uint32_t kind)> code_of);
  /// `tile` as for PlaceKinds. Returns whether every class value is in a legend; where not, all the same.
  bool read(const Tile& tile, std::vector<std::uint8_t>& codes);

 private:
  static constexpr std::uint8_t not_met = 255;
  void learn(const Tile& tile, std::vector<std::uint8_t>& codes);
  void learn_pairs(const Tile& tile);

  PlaceKinds kinds_;
  std::function<std::uint8_t(std::uint32_t)> code_of_;
  std::vector<std::uint8_t> of_kind_;
  /// Where two layers make all numbers, by their bytes; not_met too where a class is in no legend, so that
  /// one look tells both. Else empty.
  std::vector<std::uint8_t> of_pair_;
  std::vector<std::array<bool, 256>> known_;  ///< by slot: bytes that a legend names, or that are no data
  std::vector<std::uint32_t> kind_of_cell_;
};

}  // namespace swardline
