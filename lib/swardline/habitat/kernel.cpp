#include "swardline/habitat/kernel.hpp"

#include <algorithm>
#include <cmath>

#include "swardline/base/wide.hpp"

namespace swardline {
namespace {

/// The class value's row, or null where no legend names it.
const ClassValue* find_class(const std::vector<ClassValue>& classes, double raw) {
  const auto found = std::lower_bound(classes.begin(), classes.end(), raw,
                                      [](const ClassValue& c, double value) { return c.raw < value; });
  return found != classes.end() && found->raw == raw ? &*found : nullptr;
}

/// One edge of a trapezoid as (value − corner) · slope + level, which is 1 throughout where there is no edge
/// or a wall.
struct Edge {
  double corner = 0, slope = 0, level = 1;
  Edge(double foot, double shoulder) {
    if (std::isinf(foot) || foot == shoulder) return;
    corner = foot;
    slope = 1 / (shoulder - foot);
    level = 0;
  }
};

/// No cell takes a branch and none is lost: compilers work on several at once, and NaN comes through.
SWARDLINE_WIDE void respond_all(const Trapezoid& t, const LayerInfo& info, const float* raw,
                                std::size_t count, double* out) {
  const Edge rise(t.a, t.b), fall(t.d, t.c);
  const double own_scale = info.own_scale, own_offset = info.own_offset, scale = info.scale;
  const double a = t.a, d = t.d;
  for (std::size_t i = 0; i < count; ++i) {
    const double v = (double(raw[i]) * own_scale + own_offset) * scale;  // LayerInfo::value
    const double up = (v - rise.corner) * rise.slope + rise.level;
    const double down = (v - fall.corner) * fall.slope + fall.level;
    double r = down < up ? down : up;
    r = r > 1 ? 1 : r;
    r = v < a ? 0 : r;
    out[i] = v > d ? 0 : r;
  }
}

void respond_all(const Response& response, const LayerInfo& info, const float* raw, std::size_t count,
                 double* out) {
  if (const auto* trapezoid = std::get_if<Trapezoid>(&response))
    return respond_all(*trapezoid, info, raw, count, out);
  const auto& polyline = std::get<Polyline>(response);
  for (std::size_t i = 0; i < count; ++i) {
    const double v = info.value(double(raw[i]));
    out[i] = std::isnan(v) ? no_value : respond(polyline, v);
  }
}

SWARDLINE_WIDE bool any_none(const double* values, std::size_t count) {
  // Values are finite, so that only NaN times 0 is not 0.
  constexpr std::size_t apart = 8;
  std::array<double, apart> sums{};
  std::size_t i = 0;
  for (; i + apart <= count; i += apart) {
    for (std::size_t k = 0; k < apart; ++k) sums[k] += 0.0 * values[i + k];
  }
  for (; i < count; ++i) sums[0] += 0.0 * values[i];
  return std::any_of(sums.begin(), sums.end(), [](double sum) { return std::isnan(sum); });
}

SWARDLINE_WIDE void take_lowest(const double* share, std::size_t count, double* lowest) {
  for (std::size_t i = 0; i < count; ++i) lowest[i] = share[i] < lowest[i] ? share[i] : lowest[i];
}

SWARDLINE_WIDE void take_holder(const double* share, const double* lowest, double own, std::size_t count,
                                double* holder) {
  for (std::size_t i = 0; i < count; ++i) holder[i] = share[i] < lowest[i] ? own : holder[i];
}

/// 0 … 100; NaN, where there is a reason for it, as 0.
SWARDLINE_WIDE void whole_percents(const double* score, std::size_t count, std::int32_t* whole) {
  for (std::size_t i = 0; i < count; ++i) {
    double s = score[i] > 0 ? score[i] : 0;
    s = s < 1 ? s : 1;
    whole[i] = std::int32_t(100.0 * s + 0.5);
  }
}

double response_to(const FactorColumn& factor, const LayerInfo& info, double raw) {
  if (std::isnan(raw)) return no_value;
  if (std::holds_alternative<ClassTable>(factor.response)) {
    const ClassValue* found = find_class(factor.classes, raw);
    return found ? found->response : no_value;
  }
  const double v = info.value(raw);
  if (const auto* trapezoid = std::get_if<Trapezoid>(&factor.response)) return respond(*trapezoid, v);
  return respond(std::get<Polyline>(factor.response), v);
}

}  // namespace

SpeciesKernel::SpeciesKernel(const SpeciesPlan& plan, const std::vector<LayerInfo>& infos)
    : plan_(plan),
      infos_(infos),
      flat_(plan.tree.flat()),
      values_(plan.factors.size(), std::vector<double>(span_cells)),
      reason_(span_cells),
      has_none_(plan.factors.size()),
      holder_(span_cells),
      whole_(span_cells),
      score_(span_cells),
      limiting_(span_cells),
      lowest_(span_cells),
      responses_(plan.factors.size()),
      scratch_(plan.tree.scratch()) {
  each_.reserve(span_cells);
  if (!flat_) return;
  const FlatShares flat = flat_shares(plan);
  all_weights_ = flat.all_weights;
  const bool graded = plan.tree.top().rule == Rule::graded;
  for (std::size_t f = 0; f < plan.factors.size(); ++f) {
    const FactorColumn& factor = plan.factors[f];
    shares_.push_back(
        {flat.of_byte[f], graded && factor.limiting
                              ? flat.powers.limiting
                              : factor.weight * (graded ? flat.powers.modifying : 1.0) / all_weights_});
  }
}

void SpeciesKernel::score(const Tile& tile, std::size_t begin, std::size_t count, bool with_holder,
                          std::uint8_t* percent, std::uint8_t* held_down, float* score) {
  exclude(tile, begin, count);
  for (std::size_t f = 0; f < plan_.factors.size(); ++f) {
    fill(f, tile, begin, count);
    has_none_[f] = any_none(values_[f].data(), count);
  }
  find_missing(tile, begin, count);
  each_.clear();
  if (flat_) {
    combine_flat(count, with_holder);
    for (std::size_t f = 0; f < plan_.factors.size(); ++f) {
      if (plan_.factors[f].must_have || !has_none_[f]) continue;
      for (std::size_t i = 0; i < count; ++i)
        if (reason_[i] == 0 && std::isnan(values_[f][i])) each_.push_back(std::uint32_t(i));
    }
    std::sort(each_.begin(), each_.end());
    each_.erase(std::unique(each_.begin(), each_.end()), each_.end());
  } else {
    for (std::size_t i = 0; i < count; ++i)
      if (reason_[i] == 0) each_.push_back(std::uint32_t(i));
  }
  combine_each(tile, begin, each_);
  whole_percents(score_.data(), count, whole_.data());
  for (std::size_t i = 0; i < count; ++i) {
    const bool none = reason_[i] != 0;
    percent[i] = none ? no_percent : std::uint8_t(whole_[i]);
    held_down[i] = none ? reason_[i] : std::uint8_t(holder_[i]);
  }
  if (score == nullptr) return;
  for (std::size_t i = 0; i < count; ++i)
    score[i] = reason_[i] != 0 ? std::numeric_limits<float>::quiet_NaN() : float(score_[i]);
}

void SpeciesKernel::exclude(const Tile& tile, std::size_t begin, std::size_t count) {
  std::fill_n(reason_.begin(), count, std::uint8_t{0});
  for (const FactorColumn& factor : plan_.factors) {
    if (!std::holds_alternative<ClassTable>(factor.response)) continue;
    const LayerTile& layer = tile.layers[factor.slot];
    for (std::size_t i = 0; i < count; ++i) {
      std::uint8_t excluded = 0;
      if (factor.bytes) {
        excluded = factor.excluded_of[layer.bytes[begin + i]];
      } else if (const ClassValue* found = find_class(factor.classes, double(layer.values[begin + i]))) {
        excluded = found->excluded;
      }
      if (reason_[i] == 0) reason_[i] = excluded;
    }
  }
  for (const MaskColumn& mask : plan_.masks)
    for (std::size_t i = 0; i < count; ++i)
      if (reason_[i] == 0 && state_at(mask, tile, begin + i) == MaskState::out) reason_[i] = mask.excluded;
}

void SpeciesKernel::find_missing(const Tile& tile, std::size_t begin, std::size_t count) {
  for (std::size_t f = 0; f < plan_.factors.size(); ++f) {
    if (!plan_.factors[f].must_have || !has_none_[f]) continue;
    for (std::size_t i = 0; i < count; ++i)
      if (reason_[i] == 0 && std::isnan(values_[f][i])) reason_[i] = plan_.factors[f].missing;
  }
  for (const MaskColumn& mask : plan_.masks)
    for (std::size_t i = 0; i < count; ++i)
      if (reason_[i] == 0 && state_at(mask, tile, begin + i) == MaskState::none) reason_[i] = mask.missing;
}

MaskState SpeciesKernel::state_at(const MaskColumn& mask, const Tile& tile, std::size_t cell) const {
  const LayerTile& layer = tile.layers[mask.slot];
  if (mask.bytes) return mask.state_of[layer.bytes[cell]];
  const double v = infos_[mask.slot].value(double(layer.values[cell]));
  if (std::isnan(v)) return MaskState::none;
  return masked_out(mask.mask, v) ? MaskState::out : MaskState::keep;
}

void SpeciesKernel::fill(std::size_t f, const Tile& tile, std::size_t begin, std::size_t count) {
  const FactorColumn& factor = plan_.factors[f];
  const LayerTile& layer = tile.layers[factor.slot];
  std::vector<double>& out = values_[f];
  if (factor.bytes) {
    const auto& table = flat_ ? shares_[f].of_byte : factor.response_of;
    for (std::size_t i = 0; i < count; ++i) out[i] = table[layer.bytes[begin + i]];
    return;
  }
  if (std::holds_alternative<ClassTable>(factor.response)) {
    for (std::size_t i = 0; i < count; ++i) {
      const ClassValue* found = find_class(factor.classes, double(layer.values[begin + i]));
      out[i] = found ? found->response : no_value;
    }
  } else {
    respond_all(factor.response, infos_[factor.slot], layer.values.data() + begin, count, out.data());
  }
  if (flat_) to_shares(f, count);
}

void SpeciesKernel::to_shares(std::size_t f, std::size_t count) {
  const FactorColumn& factor = plan_.factors[f];
  std::vector<double>& out = values_[f];
  if (factor.floor)
    for (std::size_t i = 0; i < count; ++i) out[i] = out[i] < *factor.floor ? *factor.floor : out[i];
  const Rule rule = plan_.tree.top().rule;
  if (rule == Rule::lowest) return;
  if (rule == Rule::arithmetic) {
    for (std::size_t i = 0; i < count; ++i) out[i] = 1.0 - factor.weight * (1.0 - out[i]) / all_weights_;
    return;
  }
  const double power = shares_[f].power;
  for (std::size_t i = 0; i < count; ++i) {
    const double v = out[i];
    if (power == 0) {
      if (!std::isnan(v)) out[i] = 1;
    } else if (v != 0 && v != 1) {
      out[i] = std::pow(v, power);
    }
  }
}

void SpeciesKernel::combine_flat(std::size_t count, bool with_holder) {
  const Rule rule = plan_.tree.top().rule;
  std::fill_n(holder_.begin(), count, 0.0);
  std::fill_n(lowest_.begin(), count, 1.0);
  std::fill_n(limiting_.begin(), count, 1.0);
  std::fill_n(score_.begin(), count, rule == Rule::arithmetic ? 0.0 : 1.0);
  for (std::size_t f = 0; f < plan_.factors.size(); ++f) {
    const double* share = values_[f].data();
    double* score = score_.data();
    if (with_holder) take_holder(share, lowest_.data(), double(f + 1), count, holder_.data());
    if (with_holder || rule == Rule::lowest) take_lowest(share, count, lowest_.data());
    if (rule == Rule::arithmetic) {
      for (std::size_t i = 0; i < count; ++i) score[i] += 1.0 - share[i];
    } else if (rule == Rule::graded && plan_.factors[f].limiting) {
      double* limiting = limiting_.data();
      for (std::size_t i = 0; i < count; ++i) limiting[i] = share[i] < limiting[i] ? share[i] : limiting[i];
    } else if (rule != Rule::lowest) {
      for (std::size_t i = 0; i < count; ++i) score[i] *= share[i];
    }
  }
  if (rule == Rule::lowest) std::copy_n(lowest_.begin(), count, score_.begin());
  if (rule == Rule::arithmetic)
    for (std::size_t i = 0; i < count; ++i) score_[i] = 1.0 - score_[i];
  if (rule == Rule::graded)
    for (std::size_t i = 0; i < count; ++i) score_[i] *= limiting_[i];
}

double SpeciesKernel::response_at(std::size_t f, const Tile& tile, std::size_t cell) const {
  const FactorColumn& factor = plan_.factors[f];
  const LayerTile& layer = tile.layers[factor.slot];
  return factor.bytes ? factor.response_of[layer.bytes[cell]]
                      : response_to(factor, infos_[factor.slot], double(layer.values[cell]));
}

void SpeciesKernel::combine_each(const Tile& tile, std::size_t begin,
                                 const std::vector<std::uint32_t>& cells) {
  for (const std::uint32_t i : cells) {
    for (std::size_t f = 0; f < responses_.size(); ++f)
      responses_[f] = flat_ ? response_at(f, tile, begin + i) : values_[f][i];
    const RuleTree::Combined combined = plan_.tree.combine(responses_, scratch_);
    if (combined.missing >= 0) {
      reason_[i] = plan_.factors[std::size_t(combined.missing)].missing;
    } else {
      score_[i] = combined.value;
      holder_[i] = double(combined.held_by + 1);
    }
  }
}

}  // namespace swardline
