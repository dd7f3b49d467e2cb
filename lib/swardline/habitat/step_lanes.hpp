// Sixteen species side by side, for site tables: what counts there is the whole percent.
//
// Layers may be bytes and measures. A measure's values are cut into many fine steps. Over a step the response
// of a species is a range, and in nearly all steps all of it rounds to one percent. Every step, and every
// byte of the other layers, has a key for each species: even where it is certain what follows (the reasons
// for no score, in the order in which a single cell is judged, then the percents), odd where it is not. Under
// the rule `lowest` the smallest key over the layers is the cell's; where it is odd the cell is scored by
// itself. Private to the stage.
#pragma once

#include <array>
#include <cstdint>
#include <vector>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

class StepLanes {
 public:
  static constexpr std::size_t lanes = 16;
  /// Cells handled together: what is needed of them stays in the nearest cache.
  static constexpr std::size_t most_cells = 256;
  using Key = std::uint8_t;

  /// Whether a species can be a lane: rule `lowest` without groups, class layers in bytes, few reasons.
  [[nodiscard]] static bool suits(const SpeciesPlan& plan, const ScoredSpecies& species,
                                  const std::vector<LayerInfo>& infos);
  /// At most `lanes` species that suit. `model` is kept by reference.
  StepLanes(const Model::Inside& model, std::vector<std::size_t> species);
  [[nodiscard]] const std::vector<std::size_t>& species() const { return species_; }

  /// One thread's room.
  struct Work {
    std::array<Key, most_cells * lanes> keys;  ///< by cell, then lane; `width()` lanes to a cell
    std::vector<std::uint32_t> rows;           ///< by slot, then cell: where its keys begin
  };
  [[nodiscard]] Work work() const;
  /// Lanes that are looked at: half of them where there are no more species.
  [[nodiscard]] std::size_t width() const { return species_.size() > lanes / 2 ? lanes : lanes / 2; }
  /// Looks at `count` cells (at most `most_cells`) of the tile from `first` on.
  void look(const Tile& tile, std::size_t first, std::size_t count, Work& work) const;
  [[nodiscard]] static bool certain(Key key) { return key % 2 == 0; }
  /// Of a key that is certain: no_percent where there is a reason, then `category` is it.
  [[nodiscard]] std::uint8_t percent(std::size_t lane, Key key) const;
  [[nodiscard]] std::uint8_t category(std::size_t lane, Key key) const;
  /// Slots of the layers that are looked at.
  [[nodiscard]] std::vector<std::size_t> slots() const;

 private:
  struct Slot {
    std::size_t slot = 0;
    bool bytes = false;
    float low = 0, per_raw = 1;  ///< of measures: where the first step begins, and steps to a unit
    std::size_t first_row = 0;   ///< among the rows of all slots
    std::size_t rows = 256;
  };
  /// What a row of a measure stands for, as sheets speak of it.
  struct Range {
    double least = 0, most = 0;
  };
  /// Rows of a measure: one below all steps, the steps, one above, one for no data.
  static constexpr std::size_t steps = std::size_t{1} << 15, above_row = steps + 1, none_row = steps + 2;

  void add_slots();
  [[nodiscard]] const Slot& slot_of(std::size_t slot) const;
  [[nodiscard]] Range range_of(const Slot& slot, std::size_t row) const;
  void find_rows(const Slot& slot, const LayerTile& layer, std::size_t first, std::size_t count,
                 std::uint32_t* rows) const;
  template <std::size_t Width>
  void join(std::size_t count, Work& work) const;
  void add_lane(std::size_t lane);
  /// A row decides with this key unless a smaller one does.
  void decide(const Slot& slot, std::size_t row, std::size_t lane, Key key);
  void add_mask(std::size_t lane, const MaskColumn& mask, MaskState state, Key key);
  void add_shares(std::size_t lane, const FactorColumn& factor);
  [[nodiscard]] Key special(std::size_t lane) const { return Key(2 * reasons_[lane].size() + 1); }
  [[nodiscard]] Key of_percent(std::size_t lane, int percent) const {
    return Key(2 * reasons_[lane].size() + 2 + 2 * std::size_t(percent));
  }

  const Model::Inside& model_;
  std::vector<std::size_t> species_;
  std::vector<std::vector<std::uint8_t>> reasons_;  ///< by lane: categories in the order of their keys
  std::vector<Slot> slots_;
  std::vector<Key> keys_;  ///< by row of all slots, then lane
};

}  // namespace swardline
