#include "swardline/habitat/byte_lanes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "swardline/habitat/lane_reasons.hpp"
#include "swardline/habitat/rule.hpp"

namespace swardline {
namespace {

constexpr ByteLanes::Key last_key = std::numeric_limits<ByteLanes::Key>::max();
/// Below half a percent nothing is left to tell apart: -ln 0.005 is 5.3.
constexpr double most_term = 6.5;
constexpr std::size_t most_factors = 16;  // whose terms together stay within 31 bits

/// N rows joined for every cell, and with what is there already.
template <std::size_t N, bool Begun, typename Value, typename Join>
void pass(const std::array<const std::uint8_t*, N>& bytes, const std::array<const Value*, N>& rows,
          std::size_t count, Value* out, Join join) {
  constexpr std::size_t lanes = ByteLanes::lanes;
  // One lane's rows all fit registers, which compilers see only of a copy that nothing else can point to.
  std::array<Value, lanes> joined;
  for (std::size_t i = 0; i < count; ++i) {
    const Value* from = Begun ? out + i * lanes : rows[0] + std::size_t{bytes[0][i]} * lanes;
    std::copy_n(from, lanes, joined.begin());
    for (std::size_t n = Begun ? 0 : 1; n < N; ++n) {
      const Value* row = rows[n] + std::size_t{bytes[n][i]} * lanes;
      for (std::size_t k = 0; k < lanes; ++k) joined[k] = join(joined[k], row[k]);
    }
    std::copy_n(joined.begin(), lanes, out + i * lanes);
  }
}

}  // namespace

bool ByteLanes::suits(const SpeciesPlan& plan, const std::vector<LayerInfo>& infos) {
  if (!plan.tree.flat() || plan.factors.empty() || plan.factors.size() > most_factors) return false;
  const auto bytes = [&infos](const auto& column) { return infos[column.slot].bytes; };
  return std::all_of(plan.factors.begin(), plan.factors.end(), bytes) &&
         std::all_of(plan.masks.begin(), plan.masks.end(), bytes);
}

ByteLanes::ByteLanes(const Model::Inside& model, std::vector<std::size_t> species)
    : model_(model), species_(std::move(species)), lanes_(species_.size()) {
  make_steps();
  for (const std::size_t s : species_) {
    const Combine& combine = model.plans[s].tree.top();
    any_sums_ = any_sums_ || combine.rule != Rule::lowest;
    any_limits_ = any_limits_ || combine.rule == Rule::graded;
  }
  for (const std::size_t s : species_) {
    for (const FactorColumn& factor : model.plans[s].factors) (void)slot_of(factor.slot);
    for (const MaskColumn& mask : model.plans[s].masks) (void)slot_of(mask.slot);
  }
  for (std::size_t lane = 0; lane < lanes_.size(); ++lane) add_lane(lane);
}

ByteLanes::Slot& ByteLanes::slot_of(std::size_t slot) {
  for (Slot& known : slots_)
    if (known.slot == slot) return known;
  Slot& made = slots_.emplace_back();
  made.slot = slot;
  made.keys.assign(256 * lanes, 0);
  for (std::size_t i = 0; i < made.keys.size(); ++i)
    if (i % lanes < species_.size()) made.keys[i] = last_key;
  if (any_sums_) made.sums.assign(256 * lanes, 0);
  if (any_limits_) made.limits.assign(256 * lanes, 0);
  return made;
}

// A stride is less wide than a percent, so that within one there is at most one change.
void ByteLanes::make_steps() {
  constexpr double scale = double(1 << scale_bits);
  const auto steps = [&](auto sum_at) {
    std::vector<Step> all;
    constexpr auto strides = std::size_t(most_term * scale) >> stride_bits;
    for (std::size_t stride = 0; stride <= strides; ++stride) {
      const double begin = double(stride << stride_bits);
      int percent = 100;
      while (percent > 0 && sum_at(percent) * scale < begin) --percent;
      const double until = percent > 0 ? sum_at(percent) * scale : std::numeric_limits<std::int32_t>::max();
      all.push_back({std::int32_t(until), std::uint8_t(percent)});
    }
    return all;
  };
  // Up to this sum the score rounds to the percent.
  linear_ = steps([](int percent) { return 1 - (percent - 0.5) / 100; });
  logarithmic_ = steps([](int percent) { return -std::log((percent - 0.5) / 100); });
}

void ByteLanes::add_lane(std::size_t lane) {
  const ScoredSpecies& species = model_.species[species_[lane]];
  const SpeciesPlan& plan = model_.plans[species_[lane]];
  Lane& made = lanes_[lane];
  const auto new_key = [&](std::uint8_t percent, std::uint8_t held_down) {
    made.percent.push_back(percent);
    made.held_down.push_back(held_down);
    return Key(made.percent.size() - 1);
  };
  // Byte `raw` of the slot decides with this key unless a smaller one does.
  const auto decides = [&](std::size_t slot, std::size_t raw, Key key) {
    Key& at = slot_of(slot).keys[raw * lanes + lane];
    at = std::min(at, key);
  };
  for (const Reason& reason : reasons_in_order(plan, species)) {
    const Key key = new_key(no_percent, reason.category);
    for (std::size_t raw = 0; raw < 256; ++raw)
      if (reason.met(raw)) decides(reason.slot(), raw, key);
  }
  made.special = new_key(no_percent, 0);
  made.first_share = Key(made.special + 1);
  for (const FactorColumn& factor : plan.factors) {
    if (factor.must_have) continue;
    for (std::size_t raw = 0; raw < 256; ++raw)
      if (std::isnan(factor.response_of[raw])) decides(factor.slot, raw, made.special);
  }

  const std::vector<std::array<double, 256>> shares = flat_shares(plan).of_byte;
  std::map<std::pair<double, std::size_t>, Key> key_of;  // by share, then factor
  for (std::size_t f = 0; f < shares.size(); ++f) {
    for (const double share : shares[f])
      if (share < 1) key_of.emplace(std::pair{share, f}, Key{0});
  }
  for (auto& [share, key] : key_of)
    key = new_key(std::uint8_t(percent(share.first)), std::uint8_t(share.second + 1));
  const Key nothing = new_key(100, 0);
  for (std::size_t f = 0; f < shares.size(); ++f) {
    for (std::size_t raw = 0; raw < 256; ++raw) {
      const double share = shares[f][raw];
      if (std::isnan(share)) continue;
      decides(plan.factors[f].slot, raw, share < 1 ? key_of.at({share, f}) : nothing);
    }
  }
  // Slots that the species does not read say nothing.
  for (Slot& slot : slots_) {
    for (std::size_t raw = 0; raw < 256; ++raw) {
      Key& key = slot.keys[raw * lanes + lane];
      key = std::min(key, nothing);
    }
  }
  add_terms(lane, plan, shares);
}

void ByteLanes::add_terms(std::size_t lane, const SpeciesPlan& plan,
                          const std::vector<std::array<double, 256>>& shares) {
  const Rule rule = plan.tree.top().rule;
  if (rule == Rule::lowest) return;
  Lane& made = lanes_[lane];
  made.graded = rule == Rule::graded;
  made.steps = rule == Rule::arithmetic ? &linear_ : &logarithmic_;
  constexpr double scale = double(1 << scale_bits);
  for (std::size_t f = 0; f < shares.size(); ++f) {
    Slot& slot = slot_of(plan.factors[f].slot);
    const bool limiting = made.graded && plan.factors[f].limiting;
    for (std::size_t raw = 0; raw < 256; ++raw) {
      const double share = shares[f][raw];
      if (std::isnan(share)) continue;
      const double term = rule == Rule::arithmetic ? 1 - share : std::min(most_term, -std::log(share));
      const auto whole = std::int32_t(std::lround(term * scale));
      const std::size_t at = raw * lanes + lane;
      if (limiting)
        slot.limits[at] = std::max(slot.limits[at], whole);
      else
        slot.sums[at] += whole;
    }
  }
}

ByteLanes::Work ByteLanes::work() const {
  Work work{};
  if (any_sums_) work.sums.resize(most_cells * lanes);
  if (any_limits_) work.limits.resize(most_cells * lanes);
  work.cells.resize(slots_.size());
  work.bytes.resize(model_.infos.size());
  std::size_t factors = 0;
  for (const std::size_t s : species_) {
    factors = std::max(factors, model_.plans[s].factors.size());
    work.scratch.push_back(model_.plans[s].tree.scratch());
  }
  work.responses.resize(factors);
  return work;
}

/// Joins the rows of all slots, three at a time: what is put away in between costs as much as the joining.
template <typename Value, typename Join>
void ByteLanes::join_rows(std::vector<Value> Slot::*rows, std::size_t count, Work& work, Value* out,
                          Join join) const {
  std::size_t s = 0;
  const auto step = [&]<std::size_t N>(std::integral_constant<std::size_t, N>) {
    std::array<const std::uint8_t*, N> b;
    std::array<const Value*, N> r;
    for (std::size_t n = 0; n < N; ++n) {
      b[n] = work.cells[s + n];
      r[n] = (slots_[s + n].*rows).data();
    }
    if (s == 0)
      pass<N, false>(b, r, count, out, join);
    else
      pass<N, true>(b, r, count, out, join);
    s += N;
  };
  while (s < slots_.size()) {
    const std::size_t left = slots_.size() - s;
    if (left >= 3)
      step(std::integral_constant<std::size_t, 3>{});
    else if (left == 2)
      step(std::integral_constant<std::size_t, 2>{});
    else
      step(std::integral_constant<std::size_t, 1>{});
  }
}

void ByteLanes::look(const Tile& tile, std::size_t first, std::size_t count, Work& work) const {
  for (std::size_t s = 0; s < slots_.size(); ++s)
    work.cells[s] = tile.layers[slots_[s].slot].bytes.data() + first;
  join_rows(&Slot::keys, count, work, work.keys.data(), [](Key a, Key b) { return b < a ? b : a; });
  if (any_sums_)
    join_rows(&Slot::sums, count, work, work.sums.data(),
              [](std::int32_t a, std::int32_t b) { return a + b; });
  if (any_limits_)
    join_rows(&Slot::limits, count, work, work.limits.data(),
              [](std::int32_t a, std::int32_t b) { return b > a ? b : a; });
}

Verdict ByteLanes::judged(const Tile& tile, std::size_t cell, std::size_t lane, Work& work) const {
  const SpeciesPlan& plan = model_.plans[species_[lane]];
  for (const Slot& slot : slots_) work.bytes[slot.slot] = tile.layers[slot.slot].bytes[cell];
  return judge(plan, work.bytes, {work.responses.data(), plan.factors.size()}, work.scratch[lane]);
}

Verdict ByteLanes::verdict(const Tile& tile, std::size_t first, std::size_t i, std::size_t lane,
                           Work& work) const {
  const Lane& of = lanes_[lane];
  const Key key = work.keys[i * lanes + lane];
  if (key == of.special) return judged(tile, first + i, lane, work);
  Verdict verdict;
  verdict.percent = of.percent[std::size_t(key)];
  verdict.held_down = of.held_down[std::size_t(key)];
  if (of.steps == nullptr || key < of.first_share) return verdict;
  std::int32_t sum = work.sums[i * lanes + lane];
  if (of.graded) sum += work.limits[i * lanes + lane];
  const auto stride = std::size_t(sum) >> stride_bits;
  if (stride >= of.steps->size()) {
    verdict.percent = 0;
    return verdict;
  }
  // Each term is rounded by half a step at most, and so may the change be.
  constexpr std::int32_t rounding = std::int32_t{most_factors};
  const Step& step = (*of.steps)[stride];
  if (std::abs(std::int64_t{sum} - step.until) <= rounding) return judged(tile, first + i, lane, work);
  verdict.percent = std::uint8_t(sum < step.until ? step.percent : step.percent - 1);
  return verdict;
}

void ByteLanes::find_verdicts(const Tile& tile, std::size_t first, std::size_t count, std::size_t lane,
                              Work& work) const {
  for (std::size_t i = 0; i < count; ++i) work.verdicts[i] = verdict(tile, first, i, lane, work);
}

void ByteLanes::score(const Tile& tile, std::size_t first, std::size_t count, const std::vector<bool>& wanted,
                      Work& work, ScoreTile& out) const {
  look(tile, first, count, work);
  for (std::size_t lane = 0; lane < lanes_.size(); ++lane) {
    if (!wanted.empty() && !wanted[species_[lane]]) continue;
    SpeciesTile& species = out.species[species_[lane]];
    find_verdicts(tile, first, count, lane, work);
    for (std::size_t i = 0; i < count; ++i) {
      species.percent[first + i] = work.verdicts[i].percent;
      species.held_down[first + i] = work.verdicts[i].held_down;
    }
  }
}

}  // namespace swardline
