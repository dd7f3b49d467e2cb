// Joint tables: what a place scores where all its layers are bytes.
#include <algorithm>
#include <bit>
#include <cmath>
#include <map>

#include "swardline/habitat/byte_lanes.hpp"
#include "swardline/habitat/model_parts.hpp"
#include "swardline/habitat/step_lanes.hpp"

namespace swardline {

Verdict judge(const SpeciesPlan& plan, std::span<const std::uint8_t> byte_of_slot,
              std::span<double> responses, RuleTree::Scratch& scratch) {
  Verdict verdict;
  std::uint8_t reason = 0;
  for (std::size_t f = 0; f < plan.factors.size(); ++f) {
    const FactorColumn& factor = plan.factors[f];
    const std::uint8_t raw = byte_of_slot[factor.slot];
    responses[f] = factor.response_of[raw];
    if (reason == 0) reason = factor.excluded_of[raw];
  }
  for (const MaskColumn& mask : plan.masks)
    if (reason == 0 && mask.state_of[byte_of_slot[mask.slot]] == MaskState::out) reason = mask.excluded;
  for (std::size_t f = 0; f < plan.factors.size(); ++f)
    if (reason == 0 && plan.factors[f].must_have && std::isnan(responses[f]))
      reason = plan.factors[f].missing;
  for (const MaskColumn& mask : plan.masks)
    if (reason == 0 && mask.state_of[byte_of_slot[mask.slot]] == MaskState::none) reason = mask.missing;
  if (reason == 0) {
    const RuleTree::Combined combined = plan.tree.combine(responses, scratch);
    if (combined.missing >= 0) {
      reason = plan.factors[std::size_t(combined.missing)].missing;
    } else {
      verdict.score = combined.value;
      verdict.percent = std::uint8_t(percent(combined.value));
      reason = std::uint8_t(combined.held_by + 1);
    }
  }
  verdict.held_down = reason;
  return verdict;
}

FlatShares flat_shares(const SpeciesPlan& plan) {
  FlatShares shares;
  const Combine& combine = plan.tree.top();
  const bool graded = combine.rule == Rule::graded;
  bool any_limiting = false, any_modifying = false;
  for (const FactorColumn& factor : plan.factors) {
    (factor.limiting ? any_limiting : any_modifying) = true;
    if (!graded || !factor.limiting) shares.all_weights += factor.weight;
  }
  shares.powers = RuleTree::powers(combine, any_limiting, any_modifying);
  for (const FactorColumn& factor : plan.factors) {
    std::array<double, 256>& of_byte = shares.of_byte.emplace_back();
    for (std::size_t raw = 0; raw < 256; ++raw) {
      const double response = factor.response_of[raw];
      of_byte[raw] = std::isnan(response)
                         ? no_value
                         : RuleTree::share(combine, factor.limiting,
                                           factor.floor ? std::max(response, *factor.floor) : response,
                                           factor.weight, shares.all_weights, shares.powers);
    }
  }
  return shares;
}

namespace {

std::vector<std::size_t> slots_of(const SpeciesPlan& plan) {
  std::vector<std::size_t> slots;
  for (const FactorColumn& factor : plan.factors) slots.push_back(factor.slot);
  for (const MaskColumn& mask : plan.masks) slots.push_back(mask.slot);
  return slots;
}

/// All that the species reads from this raw byte: bytes with equal readings need no telling apart.
std::vector<std::uint64_t> reading(const SpeciesPlan& plan, std::size_t slot, std::size_t raw) {
  std::vector<std::uint64_t> all;
  for (const FactorColumn& factor : plan.factors)
    if (factor.slot == slot) {
      all.push_back(std::bit_cast<std::uint64_t>(factor.response_of[raw]));
      all.push_back(factor.excluded_of[raw]);
    }
  for (const MaskColumn& mask : plan.masks)
    if (mask.slot == slot) all.push_back(std::uint64_t(mask.state_of[raw]));
  return all;
}

/// The axis with its classes split where the species tells their bytes apart. The stride is set by
/// `with_strides`.
JointGroup::Axis split(const JointGroup::Axis& axis, const SpeciesPlan& plan) {
  JointGroup::Axis finer;
  finer.slot = axis.slot;
  std::map<std::pair<std::uint32_t, std::vector<std::uint64_t>>, std::uint32_t> codes;
  for (std::size_t raw = 0; raw < 256; ++raw) {
    const auto [code, is_new] =
        codes.emplace(std::pair(axis.offset[raw] / axis.stride, reading(plan, axis.slot, raw)),
                      std::uint32_t(finer.example.size()));
    if (is_new) finer.example.push_back(std::uint8_t(raw));
    finer.offset[raw] = code->second;
  }
  return finer;
}

/// The group with its axes' strides worked out anew; nothing when the table would be too large.
std::optional<JointGroup> with_strides(JointGroup group) {
  std::uint64_t entries = 1;
  for (JointGroup::Axis& axis : group.axes) {
    axis.stride = std::uint32_t(entries);
    for (std::uint32_t& offset : axis.offset) offset *= axis.stride;
    entries *= axis.example.size();
    if (entries > most_joint_entries) return {};
  }
  group.entries = std::uint32_t(entries);
  return group;
}

/// The group with one species more; nothing when the table would be too large.
std::optional<JointGroup> with_species(const Model::Inside& model, const JointGroup& group,
                                       std::size_t species) {
  const SpeciesPlan& plan = model.plans[species];
  std::vector<std::size_t> slots = slots_of(plan);
  for (const JointGroup::Axis& axis : group.axes) slots.push_back(axis.slot);
  std::sort(slots.begin(), slots.end());
  slots.erase(std::unique(slots.begin(), slots.end()), slots.end());
  JointGroup wider;
  wider.species = group.species;
  wider.species.push_back(species);
  for (const std::size_t slot : slots) {
    const auto known = std::find_if(group.axes.begin(), group.axes.end(),
                                    [&](const JointGroup::Axis& axis) { return axis.slot == slot; });
    JointGroup::Axis whole;  // all bytes alike
    whole.slot = slot;
    whole.stride = 1;
    wider.axes.push_back(split(known == group.axes.end() ? whole : *known, plan));
  }
  return with_strides(std::move(wider));
}

/// A large table is slower than lanes, unless it holds all species: then a cell's number is all that work on
/// their best score needs (PlaceKinds).
void take_large_tables(Model::Inside& model, std::vector<std::size_t>& in_lanes) {
  constexpr std::uint32_t large = 1U << 16;
  const bool all_in_one = model.joint.size() == 1 && in_lanes.empty() && model.by_kernels.empty();
  std::erase_if(model.joint, [&](const JointGroup& group) {
    const bool better = !all_in_one && group.entries > large &&
                        std::all_of(group.species.begin(), group.species.end(), [&](std::size_t s) {
                          return ByteLanes::suits(model.plans[s], model.infos);
                        });
    if (better) in_lanes.insert(in_lanes.end(), group.species.begin(), group.species.end());
    return better;
  });
}

/// The species side by side, as many at a time as there are lanes.
template <typename Lanes>
void put_side_by_side(const Model::Inside& model, const std::vector<std::size_t>& species,
                      std::vector<std::shared_ptr<const Lanes>>& sets) {
  for (std::size_t first = 0; first < species.size(); first += Lanes::lanes) {
    const auto begin = species.begin() + std::ptrdiff_t(first);
    const auto count = std::ptrdiff_t(std::min(Lanes::lanes, species.size() - first));
    sets.push_back(std::make_shared<const Lanes>(model, std::vector<std::size_t>(begin, begin + count)));
  }
}

}  // namespace

bool others_stand_in(const Model::Inside& model, std::size_t species, const Tile& tile, std::size_t cell) {
  const std::vector<std::size_t>& may_lack = model.plans[species].may_lack;
  return std::any_of(may_lack.begin(), may_lack.end(), [&](std::size_t slot) {
    const LayerTile& layer = tile.layers[slot];
    const LayerInfo& info = model.infos[slot];
    return info.bytes ? info.byte_none[layer.bytes[cell]] : std::isnan(layer.values[cell]);
  });
}

void group_species(Model::Inside& model) {
  std::vector<std::size_t> in_lanes;
  for (std::size_t s = 0; s < model.plans.size(); ++s) {
    const std::vector<std::size_t> slots = slots_of(model.plans[s]);
    bool placed = false;
    if (std::all_of(slots.begin(), slots.end(), [&](std::size_t slot) { return model.infos[slot].bytes; })) {
      for (JointGroup& group : model.joint) {
        if (auto wider = with_species(model, group, s)) {
          group = std::move(*wider);
          placed = true;
          break;
        }
      }
      if (!placed)
        if (auto alone = with_species(model, {}, s)) {
          model.joint.push_back(std::move(*alone));
          placed = true;
        }
    }
    if (!placed && ByteLanes::suits(model.plans[s], model.infos)) {
      in_lanes.push_back(s);
      placed = true;
    }
    if (!placed) model.by_kernels.push_back(s);
  }
  take_large_tables(model, in_lanes);
  std::sort(in_lanes.begin(), in_lanes.end());
  const auto in_steps = [&model](std::size_t s) {
    return StepLanes::suits(model.plans[s], model.species[s], model.infos);
  };
  const auto rest = std::stable_partition(in_lanes.begin(), in_lanes.end(), in_steps);
  model.in_steps.assign(in_lanes.begin(), rest);
  put_side_by_side(model, model.in_steps, model.lanes);
  put_side_by_side(model, {rest, in_lanes.end()}, model.by_lanes);
  model.lanes.insert(model.lanes.end(), model.by_lanes.begin(), model.by_lanes.end());
  for (const std::size_t s : model.by_kernels) (in_steps(s) ? model.in_steps : model.by_scores).push_back(s);
}

const std::vector<std::shared_ptr<const StepLanes>>& Model::Inside::steps() const {
  std::call_once(made_, [this] { put_side_by_side(*this, in_steps, steps_); });
  return steps_;
}

}  // namespace swardline
