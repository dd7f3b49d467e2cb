// Sixteen species side by side, where all layers are bytes but too many together for a joint table.
//
// What every factor, mask and lack of data of a species makes of a byte is a whole number, its key: the
// smaller it is, the sooner it decides. First come the reasons for no score, in the order in which a single
// cell is judged, then what factors contribute, smallest first and ties in the sheet's order. So the smallest
// key over the layers says what holds a cell down, and under the rule `lowest` also what it scores. Under the
// other rules the contributions are added up as well, in whole steps of 2^-24 (of the shortfall for
// `arithmetic`, of the natural logarithm for the rest); a sum within rounding of where the whole percent
// changes is worked out as for a single cell, so that lanes and single cells never differ. Private to the
// stage.
#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <vector>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

class ByteLanes {
 public:
  static constexpr std::size_t lanes = 16;
  /// Cells handled together: what is needed of them stays in the nearest cache.
  static constexpr std::size_t most_cells = 256;
  using Key = std::int16_t;

  /// Whether a species can be a lane: all bytes, no groups of factors, not too many factors.
  [[nodiscard]] static bool suits(const SpeciesPlan& plan, const std::vector<LayerInfo>& infos);
  /// At most `lanes` species that suit. `model` is kept by reference.
  ByteLanes(const Model::Inside& model, std::vector<std::size_t> species);
  [[nodiscard]] const std::vector<std::size_t>& species() const { return species_; }

  /// One thread's room.
  struct Work {
    std::array<Key, most_cells * lanes> keys;  ///< by cell, then lane
    std::vector<std::int32_t> sums, limits;    ///< the same, where some rule needs them
    std::vector<const std::uint8_t*> cells;    ///< by slot: the bytes looked at
    std::array<Verdict, most_cells> verdicts;
    std::vector<std::uint8_t> bytes;
    std::vector<double> responses;
    std::vector<RuleTree::Scratch> scratch;
  };
  [[nodiscard]] Work work() const;
  /// Looks at `count` cells (at most `most_cells`) of the tile from `first` on.
  void look(const Tile& tile, std::size_t first, std::size_t count, Work& work) const;

  /// Whether a lane's percent follows from its key alone, unless it is `special`.
  [[nodiscard]] bool by_key(std::size_t lane) const { return lanes_[lane].steps == nullptr; }
  /// Keys of a lane are below this.
  [[nodiscard]] std::size_t keys(std::size_t lane) const { return lanes_[lane].percent.size(); }
  /// The key of cells that are judged one by one: a factor that may be without data is.
  [[nodiscard]] Key special(std::size_t lane) const { return lanes_[lane].special; }
  [[nodiscard]] std::uint8_t percent_of_key(std::size_t lane, std::size_t key) const {
    return lanes_[lane].percent[key];
  }
  [[nodiscard]] std::uint8_t held_down_of_key(std::size_t lane, std::size_t key) const {
    return lanes_[lane].held_down[key];
  }
  /// What the cells of the last look come to in one lane, into Work::verdicts; `tile`, `first` and `count` as
  /// they were then.
  void find_verdicts(const Tile& tile, std::size_t first, std::size_t count, std::size_t lane,
                     Work& work) const;
  /// The same for cells that are looked at now, of the species wanted (all where it is empty), into `out`,
  /// which has room.
  void score(const Tile& tile, std::size_t first, std::size_t count, const std::vector<bool>& wanted,
             Work& work, ScoreTile& out) const;
  [[nodiscard]] Verdict judged(const Tile& tile, std::size_t cell, std::size_t lane, Work& work) const;

 private:
  /// Whole percents along a sum: what holds up to `until`, beyond which it is one less.
  struct Step {
    std::int32_t until = 0;
    std::uint8_t percent = 0;
  };
  struct Lane {
    std::vector<std::uint8_t> percent, held_down;  ///< by key
    Key special = -1, first_share = 0;
    const std::vector<Step>* steps = nullptr;  ///< by sum, in strides of `stride_bits`; null: by key
    bool graded = false;
  };
  struct Slot {
    std::size_t slot = 0;
    std::vector<Key> keys;                   ///< by byte, then lane
    std::vector<std::int32_t> sums, limits;  ///< the same; empty where no lane needs them
  };
  static constexpr int scale_bits = 24, stride_bits = 16;

  [[nodiscard]] Verdict verdict(const Tile& tile, std::size_t first, std::size_t i, std::size_t lane,
                                Work& work) const;
  template <typename Value, typename Join>
  void join_rows(std::vector<Value> Slot::*rows, std::size_t count, Work& work, Value* out, Join join) const;
  void add_lane(std::size_t lane);
  void add_terms(std::size_t lane, const SpeciesPlan& plan,
                 const std::vector<std::array<double, 256>>& shares);
  [[nodiscard]] Slot& slot_of(std::size_t slot);
  void make_steps();

  const Model::Inside& model_;
  std::vector<std::size_t> species_;
  std::vector<Lane> lanes_;
  std::vector<Slot> slots_;
  std::vector<Step> linear_, logarithmic_;
  bool any_sums_ = false, any_limits_ = false;
};

}  // namespace swardline
