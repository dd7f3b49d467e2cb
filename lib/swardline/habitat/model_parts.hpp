// What a compiled model is made of. Private to the stage.
//
// A slot is a layer's position among Model::layers_needed(), and so in a Tile.
#pragma once

#include <array>
#include <cstdint>
#include <mutex>
#include <optional>
#include <span>
#include <vector>

#include "swardline/habitat/model.hpp"
#include "swardline/habitat/rule_tree.hpp"

namespace swardline {

/// What a class raster of more than a byte holds, for one factor.
struct ClassValue {
  double raw = 0;
  double response = no_value;
  std::uint8_t excluded = 0;
};

/// One factor over its layer.
struct FactorColumn {
  std::size_t slot = 0;
  bool bytes = false;
  bool limiting = true;
  bool must_have = true;
  double weight = 1;
  std::optional<double> floor;                  ///< of this factor, when it is a modifying one
  Response response;                            ///< for measures held as floats
  std::array<double, 256> response_of{};        ///< by raw byte; NaN: nothing known
  std::array<std::uint8_t, 256> excluded_of{};  ///< by raw byte: category of the exclusion, or 0
  std::vector<ClassValue> classes;              ///< by raw value, for class layers held as floats
  std::uint8_t missing = 0;                     ///< category "no data: …"
};

enum class MaskState : std::uint8_t { keep, out, none };

struct MaskColumn {
  std::size_t slot = 0;
  bool bytes = false;
  Mask mask;
  std::array<MaskState, 256> state_of{};
  std::uint8_t excluded = 0;
  std::uint8_t missing = 0;
};

/// One species over the slots. Category f + 1 of its held-down map is factor f.
struct SpeciesPlan {
  explicit SpeciesPlan(const Sheet& sheet) : tree(sheet) {}
  RuleTree tree;
  std::vector<FactorColumn> factors;
  std::vector<MaskColumn> masks;
  std::vector<std::size_t> may_lack;  ///< slots whose missing value re-weights the others
};

struct Verdict {
  std::uint8_t percent = no_percent;
  std::uint8_t held_down = 0;
  double score = no_value;
};

/// A place where every layer of the species is held as bytes. `responses` has room for its factors.
[[nodiscard]] Verdict judge(const SpeciesPlan& plan, std::span<const std::uint8_t> byte_of_slot,
                            std::span<double> responses, RuleTree::Scratch& scratch);

/// Species whose layers are all bytes and few enough together that one table over the
/// joint values answers for all of them. Values a layer's readers cannot tell apart
/// share a code, which is what keeps the tables small.
struct JointGroup {
  struct Axis {
    std::size_t slot = 0;
    std::array<std::uint32_t, 256> offset{};  ///< of a raw byte: its code times the axis' stride
    std::vector<std::uint8_t> example;        ///< by code: one raw byte of it
    std::uint32_t stride = 1;
  };
  std::vector<std::size_t> species;
  std::vector<Axis> axes;
  std::uint32_t entries = 1;
};
inline constexpr std::uint64_t most_joint_entries = std::uint64_t{1} << 20;

/// What factors contribute where no factor lacks data, of a species without groups.
struct FlatShares {
  double all_weights = 0;  ///< of the factors that share by weight
  RuleTree::Powers powers;
  std::vector<std::array<double, 256>> of_byte;  ///< by factor; NaN: nothing known
};
[[nodiscard]] FlatShares flat_shares(const SpeciesPlan& plan);

class ByteLanes;
class StepLanes;

struct Model::Inside {
  std::vector<ScoredSpecies> species;
  std::vector<SpeciesPlan> plans;  ///< in the same order
  std::vector<std::size_t> needed;
  std::vector<LayerInfo> infos;  ///< by slot
  std::vector<JointGroup> joint;
  std::vector<std::shared_ptr<const ByteLanes>> lanes;  ///< of species whose bytes are too many for a table
  std::vector<std::size_t> by_kernels;                  ///< the others
  // For site tables these are sorted anew.
  std::vector<std::size_t> in_steps;                       ///< those that suit step lanes
  std::vector<std::shared_ptr<const ByteLanes>> by_lanes;  ///< of the rest, those in lanes
  std::vector<std::size_t> by_scores;                      ///< of the rest, those by kernels

  /// Of `in_steps`. Made when first asked for: the check makes no site tables.
  [[nodiscard]] const std::vector<std::shared_ptr<const StepLanes>>& steps() const;

 private:
  mutable std::once_flag made_;
  mutable std::vector<std::shared_ptr<const StepLanes>> steps_;
};

/// Whether a layer that the species may lack has no data here.
[[nodiscard]] bool others_stand_in(const Model::Inside& model, std::size_t species, const Tile& tile,
                                   std::size_t cell);

/// Sorts the species into joint groups, lanes and the rest.
void group_species(Model::Inside& model);

}  // namespace swardline
