#include "swardline/habitat/step_lanes.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>

#include "swardline/base/wide.hpp"
#include "swardline/habitat/lane_reasons.hpp"
#include "swardline/habitat/rule.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_reasons = 26;  // 2 · 26 + 2 + 200 fits a byte
constexpr StepLanes::Key past_last_step = std::numeric_limits<StepLanes::Key>::max();

/// Where the response of a measure bends, as its sheet speaks of it.
std::vector<double> bends_of(const Response& response) {
  if (const auto* t = std::get_if<Trapezoid>(&response)) return {t->a, t->b, t->c, t->d};
  std::vector<double> bends;
  for (const auto& point : std::get<Polyline>(response).points) bends.push_back(point.first);
  return bends;
}

double respond_to(const Response& response, double value) {
  if (const auto* trapezoid = std::get_if<Trapezoid>(&response)) return respond(*trapezoid, value);
  return respond(std::get<Polyline>(response), value);
}

std::vector<double> limits_of(const Mask& mask) {
  std::vector<double> limits;
  if (mask.keep_below) limits.push_back(*mask.keep_below);
  if (mask.keep_above) limits.push_back(*mask.keep_above);
  return limits;
}

/// Where keys of raw values begin: rows are 0 below the first step, `steps` + 1 above the last, `steps` + 2
/// without data; `first` is their first among those of all slots.
SWARDLINE_WIDE void rows_of(const float* raw, std::size_t count, float low, float per_raw, float steps,
                            std::int32_t first, std::int32_t width, std::uint32_t* rows) {
  for (std::size_t i = 0; i < count; ++i) {
    float row = (raw[i] - low) * per_raw;
    row = row < 0 ? -1 : row;
    row = row > steps ? steps : row;
    row = row == row ? row : steps + 1;
    rows[i] = std::uint32_t((first + 1 + std::int32_t(row)) * width);
  }
}

SWARDLINE_WIDE void rows_of(const std::uint8_t* raw, std::size_t count, std::int32_t first,
                            std::int32_t width, std::uint32_t* rows) {
  for (std::size_t i = 0; i < count; ++i) rows[i] = std::uint32_t((first + raw[i]) * width);
}

/// A row's keys in one register; g++ and Clang both know this type.
template <std::size_t Width>
struct Lanes {
  typedef StepLanes::Key Keys __attribute__((vector_size(Width)));
  static Keys from(const StepLanes::Key* at) {
    Keys keys;
    std::memcpy(&keys, at, Width);
    return keys;
  }
};

/// The smallest keys of N slots' rows, and of what is there already where it is begun.
template <std::size_t N, std::size_t Width>
void take_smallest(const StepLanes::Key* keys, const std::uint32_t* rows, std::size_t count, bool begun,
                   StepLanes::Key* out) {
  using Row = Lanes<Width>;
  for (std::size_t i = 0; i < count; ++i) {
    typename Row::Keys smallest = Row::from(keys + rows[i]);
    for (std::size_t n = 1; n < N; ++n) {
      const typename Row::Keys row = Row::from(keys + rows[n * StepLanes::most_cells + i]);
      smallest = row < smallest ? row : smallest;
    }
    StepLanes::Key* to = out + i * Width;
    if (begun) {
      const typename Row::Keys there = Row::from(to);
      smallest = there < smallest ? there : smallest;
    }
    std::memcpy(to, &smallest, Width);
  }
}

}  // namespace

bool StepLanes::suits(const SpeciesPlan& plan, const ScoredSpecies& species,
                      const std::vector<LayerInfo>& infos) {
  if (!plan.tree.flat() || plan.tree.top().rule != Rule::lowest || plan.factors.empty()) return false;
  // Exclusions are categories, and what may be missing is at most one to each factor and mask.
  if (species.categories.size() + plan.factors.size() + plan.masks.size() > most_reasons) return false;
  return std::all_of(plan.factors.begin(), plan.factors.end(), [&](const FactorColumn& factor) {
    return infos[factor.slot].bytes || !std::holds_alternative<ClassTable>(factor.response);
  });
}

StepLanes::StepLanes(const Model::Inside& model, std::vector<std::size_t> species)
    : model_(model), species_(std::move(species)), reasons_(species_.size()) {
  add_slots();
  // Lanes without a species have key 0, which nobody looks up.
  keys_.assign((slots_.back().first_row + slots_.back().rows) * width(), 0);
  for (std::size_t i = 0; i < keys_.size(); ++i)
    if (i % width() < species_.size()) keys_[i] = past_last_step;
  for (std::size_t lane = 0; lane < species_.size(); ++lane) add_lane(lane);
}

void StepLanes::add_slots() {
  for (std::size_t slot = 0; slot < model_.infos.size(); ++slot) {
    const LayerInfo& info = model_.infos[slot];
    bool read = false;
    double least = std::numeric_limits<double>::infinity(), most = -least;
    const auto take = [&](const std::vector<double>& bends) {
      read = true;
      for (const double bend : bends) {
        if (!std::isfinite(bend)) continue;
        const double raw = (bend / info.scale - info.own_offset) / info.own_scale;
        least = std::min(least, raw);
        most = std::max(most, raw);
      }
    };
    for (const std::size_t s : species_) {
      for (const FactorColumn& factor : model_.plans[s].factors)
        if (factor.slot == slot) take(info.bytes ? std::vector<double>{} : bends_of(factor.response));
      for (const MaskColumn& mask : model_.plans[s].masks)
        if (mask.slot == slot) take(limits_of(mask.mask));
    }
    if (!read) continue;
    const std::size_t first_row = slots_.empty() ? 0 : slots_.back().first_row + slots_.back().rows;
    Slot& made = slots_.emplace_back();
    made.slot = slot;
    made.bytes = info.bytes;
    made.first_row = first_row;
    made.rows = info.bytes ? 256 : none_row + 1;
    if (info.bytes) continue;
    if (!(least <= most)) least = most = 0;
    // No bend lies in the first step or the last: beyond them nothing changes.
    const double beyond = std::max((most - least) / 100, 1e-6 * std::max(1.0, std::abs(most)));
    made.low = float(least - beyond);
    made.per_raw = float(double(steps) / (most - least + 2 * beyond));
  }
}

const StepLanes::Slot& StepLanes::slot_of(std::size_t slot) const {
  return *std::find_if(slots_.begin(), slots_.end(), [slot](const Slot& each) { return each.slot == slot; });
}

std::vector<std::size_t> StepLanes::slots() const {
  std::vector<std::size_t> all;
  for (const Slot& slot : slots_) all.push_back(slot.slot);
  return all;
}

void StepLanes::decide(const Slot& slot, std::size_t row, std::size_t lane, Key key) {
  Key& at = keys_[(slot.first_row + row) * width() + lane];
  at = std::min(at, key);
}

StepLanes::Range StepLanes::range_of(const Slot& slot, std::size_t row) const {
  const LayerInfo& info = model_.infos[slot.slot];
  const double step = 1 / double(slot.per_raw);
  double first = double(slot.low) + (double(row) - 1) * step, last = first + step;
  if (row == 0) last = first;  // of all that lies below
  if (row == above_row) first = last;
  // Which step a value falls into is worked out in floats, at 2^15 steps to 2^-8 of one.
  const double blur = step / 128;
  const double a = info.value(first - blur), b = info.value(last + blur);
  return {std::min(a, b), std::max(a, b)};
}

void StepLanes::add_lane(std::size_t lane) {
  const SpeciesPlan& plan = model_.plans[species_[lane]];
  // Reasons first, all of them: the other keys follow from their number.
  const std::vector<Reason> reasons = reasons_in_order(plan, model_.species[species_[lane]]);
  for (const Reason& reason : reasons) reasons_[lane].push_back(reason.category);
  for (std::size_t r = 0; r < reasons.size(); ++r) {
    const Reason& reason = reasons[r];
    const auto key = Key(2 * r);
    const Slot& slot = slot_of(reason.slot());
    if (slot.bytes) {
      for (std::size_t raw = 0; raw < 256; ++raw)
        if (reason.met(raw)) decide(slot, raw, lane, key);
    } else if (reason.mask != nullptr) {
      add_mask(lane, *reason.mask, reason.state, key);
    } else {
      decide(slot, none_row, lane, key);
    }
  }
  for (const FactorColumn& factor : plan.factors) add_shares(lane, factor);
  for (std::size_t at = lane; at < keys_.size(); at += width())
    keys_[at] = std::min(keys_[at], of_percent(lane, 100));
}

void StepLanes::add_mask(std::size_t lane, const MaskColumn& mask, MaskState state, Key key) {
  const Slot& slot = slot_of(mask.slot);
  if (state == MaskState::none) return decide(slot, none_row, lane, key);
  const std::vector<double> limits = limits_of(mask.mask);
  for (std::size_t row = 0; row <= above_row; ++row) {
    const Range range = range_of(slot, row);
    const bool across = std::any_of(limits.begin(), limits.end(), [&range](double limit) {
      return range.least <= limit && limit <= range.most;
    });
    // What the limit makes of a step's values comes before all that is less urgent than the mask.
    if (across)
      decide(slot, row, lane, Key(key + 1));
    else if (masked_out(mask.mask, range.least))
      decide(slot, row, lane, key);
  }
}

void StepLanes::add_shares(std::size_t lane, const FactorColumn& factor) {
  const Slot& slot = slot_of(factor.slot);
  const auto floored = [&factor](double response) {
    return factor.floor ? std::max(response, *factor.floor) : response;
  };
  if (slot.bytes) {
    for (std::size_t raw = 0; raw < 256; ++raw) {
      if (!std::isnan(factor.response_of[raw]))
        decide(slot, raw, lane, of_percent(lane, swardline::percent(floored(factor.response_of[raw]))));
      else if (!factor.must_have)
        decide(slot, raw, lane, special(lane));
    }
    return;
  }
  if (!factor.must_have) decide(slot, none_row, lane, special(lane));
  const std::vector<double> bends = bends_of(factor.response);
  for (std::size_t row = 0; row <= above_row; ++row) {
    const Range range = range_of(slot, row);
    double least = 1, most = 0;
    const auto take = [&](double value) {
      const double response = floored(respond_to(factor.response, value));
      least = std::min(least, response);
      most = std::max(most, response);
    };
    take(range.least);
    take(range.most);
    for (const double bend : bends) {
      if (!(range.least <= bend && bend <= range.most)) continue;
      take(bend);
      take(std::nextafter(bend, -std::numeric_limits<double>::infinity()));
      take(std::nextafter(bend, std::numeric_limits<double>::infinity()));
    }
    // Kernels and single cells work responses out in two ways, which differ in the last digits.
    constexpr double rounding = 1e-9;
    const int low = swardline::percent(least - rounding), high = swardline::percent(most + rounding);
    if (high > low + 1)
      decide(slot, row, lane, special(lane));
    else
      decide(slot, row, lane, Key(of_percent(lane, low) + (high - low)));
  }
}

std::uint8_t StepLanes::percent(std::size_t lane, Key key) const {
  const Key first = of_percent(lane, 0);
  return key < first ? no_percent : std::uint8_t((key - first) / 2);
}

std::uint8_t StepLanes::category(std::size_t lane, Key key) const {
  return key < special(lane) ? reasons_[lane][key / 2U] : std::uint8_t{0};
}

StepLanes::Work StepLanes::work() const {
  Work work{};
  work.rows.resize(slots_.size() * most_cells);
  return work;
}

void StepLanes::find_rows(const Slot& slot, const LayerTile& layer, std::size_t first, std::size_t count,
                          std::uint32_t* rows) const {
  const auto begin = std::int32_t(slot.first_row), to_next = std::int32_t(width());
  if (slot.bytes)
    rows_of(layer.bytes.data() + first, count, begin, to_next, rows);
  else
    rows_of(layer.values.data() + first, count, slot.low, slot.per_raw, float(steps), begin, to_next, rows);
}

/// Four slots at a time: what is put away in between costs as much as the joining.
template <std::size_t Width>
void StepLanes::join(std::size_t count, Work& work) const {
  for (std::size_t s = 0; s < slots_.size(); s += 4) {
    const std::uint32_t* rows = work.rows.data() + s * most_cells;
    const bool begun = s > 0;
    switch (std::min<std::size_t>(4, slots_.size() - s)) {
      case 4:
        take_smallest<4, Width>(keys_.data(), rows, count, begun, work.keys.data());
        break;
      case 3:
        take_smallest<3, Width>(keys_.data(), rows, count, begun, work.keys.data());
        break;
      case 2:
        take_smallest<2, Width>(keys_.data(), rows, count, begun, work.keys.data());
        break;
      default:
        take_smallest<1, Width>(keys_.data(), rows, count, begun, work.keys.data());
    }
  }
}

void StepLanes::look(const Tile& tile, std::size_t first, std::size_t count, Work& work) const {
  for (std::size_t s = 0; s < slots_.size(); ++s)
    find_rows(slots_[s], tile.layers[slots_[s].slot], first, count, work.rows.data() + s * most_cells);
  if (width() == lanes)
    join<lanes>(count, work);
  else
    join<lanes / 2>(count, work);
}

}  // namespace swardline
