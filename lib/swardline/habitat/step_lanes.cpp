#include "swardline/habitat/step_lanes.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/base/wide.hpp"
#include "swardline/habitat/rule.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_reasons = 26;  // 2 · 26 + 2 + 200 fits a byte
constexpr StepLanes::Key last_key = std::numeric_limits<StepLanes::Key>::max();

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

/// Rows of raw values: 0 below the first step, `steps` + 1 above the last, `steps` + 2 without data.
SWARDLINE_WIDE void rows_of(const float* raw, std::size_t count, double low, double per_raw, double steps,
                            std::int32_t* rows) {
  for (std::size_t i = 0; i < count; ++i) {
    double row = (double(raw[i]) - low) * per_raw;
    row = row < 0 ? -1 : row;
    row = row > steps ? steps : row;
    row = row == row ? row : steps + 1;
    rows[i] = std::int32_t(row + 1);
  }
}

/// The smaller of the keys that are there and a row's, or the row's alone.
template <bool Begun, typename Row>
void take_smaller(const std::vector<StepLanes::Key>& keys, const Row* rows, std::size_t count,
                  StepLanes::Key* out) {
  constexpr std::size_t lanes = StepLanes::lanes;
  std::array<StepLanes::Key, lanes> joined;
  for (std::size_t i = 0; i < count; ++i) {
    const StepLanes::Key* row = keys.data() + std::size_t(rows[i]) * lanes;
    std::copy_n(Begun ? out + i * lanes : row, lanes, joined.begin());
    if constexpr (Begun)
      for (std::size_t k = 0; k < lanes; ++k) joined[k] = row[k] < joined[k] ? row[k] : joined[k];
    std::copy_n(joined.begin(), lanes, out + i * lanes);
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
    Slot& made = slots_.emplace_back();
    made.slot = slot;
    made.bytes = info.bytes;
    // Lanes without a species have key 0, which nobody looks up.
    made.keys.assign((info.bytes ? 256 : none_row + 1) * lanes, 0);
    for (std::size_t i = 0; i < made.keys.size(); ++i)
      if (i % lanes < species_.size()) made.keys[i] = last_key;
    if (info.bytes) continue;
    if (!(least <= most)) least = most = 0;
    // No bend lies in the first step or the last: beyond them nothing changes.
    const double beyond = std::max((most - least) / 100, 1e-6 * std::max(1.0, std::abs(most)));
    made.low = least - beyond;
    made.per_raw = double(steps) / (most - least + 2 * beyond);
  }
}

StepLanes::Slot& StepLanes::slot_of(std::size_t slot) {
  return *std::find_if(slots_.begin(), slots_.end(), [slot](const Slot& each) { return each.slot == slot; });
}

StepLanes::Range StepLanes::range_of(const Slot& slot, std::size_t row) const {
  const LayerInfo& info = model_.infos[slot.slot];
  const double step = 1 / slot.per_raw;
  double first = slot.low + (double(row) - 1) * step, last = first + step;
  if (row == 0) last = first;  // of all that lies below
  if (row == above_row) first = last;
  // Which step a value falls into is worked out with rounding.
  const double blur = step / 1000;
  const double a = info.value(first - blur), b = info.value(last + blur);
  return {std::min(a, b), std::max(a, b)};
}

void StepLanes::add_lane(std::size_t lane) {
  const ScoredSpecies& species = model_.species[species_[lane]];
  const SpeciesPlan& plan = model_.plans[species_[lane]];
  // Reasons first, all of them: the other keys follow from their number.
  struct Reason {
    const FactorColumn* factor = nullptr;
    const MaskColumn* mask = nullptr;
    MaskState state = MaskState::keep;
    bool excludes = false;
  };
  std::vector<Reason> reasons;
  for (const FactorColumn& factor : plan.factors) {
    for (std::size_t category = 1; category < species.categories.size(); ++category) {
      const auto here = std::uint8_t(category);
      if (std::find(factor.excluded_of.begin(), factor.excluded_of.end(), here) == factor.excluded_of.end())
        continue;
      reasons.push_back({&factor, nullptr, MaskState::keep, true});
      reasons_[lane].push_back(here);
    }
  }
  for (const MaskColumn& mask : plan.masks) {
    reasons.push_back({nullptr, &mask, MaskState::out, false});
    reasons_[lane].push_back(mask.excluded);
  }
  for (const FactorColumn& factor : plan.factors) {
    if (!factor.must_have) continue;
    reasons.push_back({&factor, nullptr, MaskState::keep, false});
    reasons_[lane].push_back(factor.missing);
  }
  for (const MaskColumn& mask : plan.masks) {
    reasons.push_back({nullptr, &mask, MaskState::none, false});
    reasons_[lane].push_back(mask.missing);
  }
  const auto decide = [&](std::size_t slot, std::size_t row, Key key) {
    Key& at = slot_of(slot).keys[row * lanes + lane];
    at = std::min(at, key);
  };
  for (std::size_t r = 0; r < reasons.size(); ++r) {
    const auto key = Key(2 * r);
    if (reasons[r].mask != nullptr) {
      add_mask(lane, *reasons[r].mask, reasons[r].state, key);
      continue;
    }
    const FactorColumn& factor = *reasons[r].factor;
    if (!factor.bytes) {
      decide(factor.slot, none_row, key);
      continue;
    }
    for (std::size_t raw = 0; raw < 256; ++raw) {
      const bool met = reasons[r].excludes ? factor.excluded_of[raw] == reasons_[lane][r]
                                           : std::isnan(factor.response_of[raw]);
      if (met) decide(factor.slot, raw, key);
    }
  }
  for (const FactorColumn& factor : plan.factors) add_shares(lane, factor);
  for (Slot& slot : slots_) {
    for (std::size_t at = lane; at < slot.keys.size(); at += lanes)
      slot.keys[at] = std::min(slot.keys[at], of_percent(lane, 100));
  }
}

void StepLanes::add_mask(std::size_t lane, const MaskColumn& mask, MaskState state, Key key) {
  Slot& slot = slot_of(mask.slot);
  const auto decide = [&](std::size_t row, Key with) {
    Key& at = slot.keys[row * lanes + lane];
    at = std::min(at, with);
  };
  if (slot.bytes) {
    for (std::size_t raw = 0; raw < 256; ++raw)
      if (mask.state_of[raw] == state) decide(raw, key);
    return;
  }
  if (state == MaskState::none) return decide(none_row, key);
  const std::vector<double> limits = limits_of(mask.mask);
  for (std::size_t row = 0; row <= above_row; ++row) {
    const Range range = range_of(slot, row);
    const bool across = std::any_of(limits.begin(), limits.end(), [&range](double limit) {
      return range.least <= limit && limit <= range.most;
    });
    // What the limit makes of a step's values comes before all that is less urgent than the mask.
    if (across)
      decide(row, Key(key + 1));
    else if (masked_out(mask.mask, range.least))
      decide(row, key);
  }
}

void StepLanes::add_shares(std::size_t lane, const FactorColumn& factor) {
  Slot& slot = slot_of(factor.slot);
  const auto decide = [&](std::size_t row, Key key) {
    Key& at = slot.keys[row * lanes + lane];
    at = std::min(at, key);
  };
  const auto floored = [&factor](double response) {
    return factor.floor ? std::max(response, *factor.floor) : response;
  };
  if (slot.bytes) {
    for (std::size_t raw = 0; raw < 256; ++raw) {
      if (!std::isnan(factor.response_of[raw]))
        decide(raw, of_percent(lane, swardline::percent(floored(factor.response_of[raw]))));
      else if (!factor.must_have)
        decide(raw, special(lane));
    }
    return;
  }
  if (!factor.must_have) decide(none_row, special(lane));
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
      decide(row, special(lane));
    else
      decide(row, Key(of_percent(lane, low) + (high - low)));
  }
}

std::uint8_t StepLanes::percent(std::size_t lane, Key key) const {
  const Key first = of_percent(lane, 0);
  return key < first ? no_percent : std::uint8_t((key - first) / 2);
}

std::uint8_t StepLanes::category(std::size_t lane, Key key) const {
  return key < special(lane) ? reasons_[lane][key / 2U] : std::uint8_t{0};
}

void StepLanes::look(const Tile& tile, std::size_t first, std::size_t count, Work& work) const {
  bool begun = false;
  for (const Slot& slot : slots_) {
    const LayerTile& layer = tile.layers[slot.slot];
    const auto join = [&](const auto* rows) {
      if (begun)
        take_smaller<true>(slot.keys, rows, count, work.keys.data());
      else
        take_smaller<false>(slot.keys, rows, count, work.keys.data());
      begun = true;
    };
    if (slot.bytes) {
      join(layer.bytes.data() + first);
      continue;
    }
    rows_of(layer.values.data() + first, count, slot.low, slot.per_raw, double(steps), work.steps.data());
    join(work.steps.data());
  }
}

}  // namespace swardline
