// Scoring spans of cells of one species whose layers do not fit a joint table. Private to the stage.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

/// Cells handled together: what is needed of them stays in the nearest cache.
inline constexpr std::size_t span_cells = 1024;

class SpeciesKernel {
 public:
  SpeciesKernel(const SpeciesPlan& plan, const std::vector<LayerInfo>& infos);
  /// Cells [begin, begin + count) of the tile, count <= span_cells. `score` may be null. Without
  /// `with_holder` only reasons for no score are put into `held_down`.
  void score(const Tile& tile, std::size_t begin, std::size_t count, bool with_holder, std::uint8_t* percent,
             std::uint8_t* held_down, float* score);

 private:
  struct Share {
    std::array<double, 256> of_byte{};
    double power = 1;  ///< graded and geometric
  };
  void exclude(const Tile& tile, std::size_t begin, std::size_t count);
  void fill(std::size_t factor, const Tile& tile, std::size_t begin, std::size_t count);
  void to_shares(std::size_t factor, std::size_t count);
  void find_missing(const Tile& tile, std::size_t begin, std::size_t count);
  void combine_flat(std::size_t count, bool with_holder);
  void combine_each(const Tile& tile, std::size_t begin, const std::vector<std::uint32_t>& cells);
  [[nodiscard]] double response_at(std::size_t factor, const Tile& tile, std::size_t cell) const;
  [[nodiscard]] MaskState state_at(const MaskColumn& mask, const Tile& tile, std::size_t cell) const;

  const SpeciesPlan& plan_;
  const std::vector<LayerInfo>& infos_;
  bool flat_;
  double all_weights_ = 0;
  std::vector<Share> shares_;
  std::vector<std::vector<double>> values_;  ///< by factor: responses, or shares where the rule is flat
  std::vector<std::uint8_t> reason_;         ///< by cell: category of an exclusion or of what is missing
  std::vector<bool> has_none_;               ///< by factor, in the span at hand
  std::vector<double> holder_;               ///< factor + 1; a double, as what it goes with
  std::vector<std::int32_t> whole_;
  std::vector<double> score_;
  std::vector<double> limiting_;
  std::vector<double> lowest_;
  std::vector<std::uint32_t> each_;  ///< cells that go through the rule tree one by one
  std::vector<double> responses_;
  RuleTree::Scratch scratch_;
};

}  // namespace swardline
