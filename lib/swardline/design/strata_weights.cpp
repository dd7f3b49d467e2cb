// Chances in proportion to a layer or the score: whole-number weights, and what is no weight.
#include <fmt/format.h>

#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/design/strata_inside.hpp"

namespace swardline {
namespace {

/// A layer's value as a whole number of steps; 0 for no data.
std::int32_t steps_of(double value, double step) {
  if (std::isnan(value)) return 0;
  const double steps = value / step;
  if (steps <= -0.5) return weight_negative;
  if (steps > largest_weight_steps) return weight_too_large;
  return std::int32_t(std::llround(steps));
}

}  // namespace

void BlockReader::layer_weights(const Window& window, std::vector<std::int32_t>& weights) {
  const LayerInfo& info = layers_.infos()[rule_.weight.layer];
  weight_reader_->read(window, class_tile_);
  const LayerTile& layer = class_tile_.layers[0];
  if (info.bytes) {
    std::array<std::int32_t, 256> table{};
    for (std::size_t raw = 0; raw < table.size(); ++raw) {
      table[raw] = info.byte_none[raw] ? 0 : steps_of(info.value(double(raw)), rule_.weight.step);
    }
    for (std::size_t i = 0; i < weights.size(); ++i) weights[i] = table[layer.bytes[i]];
  } else {
    for (std::size_t i = 0; i < weights.size(); ++i) {
      weights[i] = steps_of(info.value(double(layer.values[i])), rule_.weight.step);
    }
  }
}

namespace {

void check_values(const WeightSpec& spec, const NotWeights& cells, Flags& flags) {
  if (cells.negative > 0) {
    flags.add(Severity::stop, "negative weight", spec.place,
              fmt::format("weight = \"{}\": {} cells on the sites hold values below 0, and no chance is.",
                          spec.of, grouped(cells.negative)),
              "Use a layer that is 0 or more, or one scaled to be.");
  }
  if (cells.too_large > 0) {
    flags.add(Severity::stop, "weight too large", spec.place,
              fmt::format("weight = \"{}\": {} cells on the sites hold more than {} steps of {}.", spec.of,
                          grouped(cells.too_large), grouped(largest_weight_steps), shortest(spec.step)),
              "Write a larger weight_step under [sample].");
  }
}

/// Ground that is to get plots and has no chance of one.
void check_zero(const Plan& plan, const std::vector<Stratum>& strata, Flags& flags) {
  const WeightSpec& spec = plan.sample.weight;
  if (spec.floor > 0) return;
  std::int64_t mm2 = 0;
  std::vector<std::string> where;
  for (const Stratum& stratum : strata) {
    const bool plots = stratum.kind != StratumKind::excluded || plan.sample.plots_in_excluded;
    if (!plots || stratum.at_floor_mm2 == 0) continue;
    mm2 += stratum.at_floor_mm2;
    where.push_back(season_parts::spoken(stratum.id));
  }
  if (where.empty()) return;
  constexpr std::size_t most_named = 5;
  if (where.size() > most_named) {
    const std::size_t more = where.size() - most_named;
    where.resize(most_named);
    where.push_back(fmt::format("{} more", more));
  }
  flags.add(
      Severity::stop, "ground without a chance", spec.place,
      fmt::format("weight = \"{}\" is 0, or missing, on {} of {}: no plot could fall there, and no estimate "
                  "would hold for it.",
                  spec.of, site_parts::hectares_plain(double(mm2) * 1e-6), in_words(where)),
      "Write weight_floor, the least weight that ground may have, or exclude that ground.");
}

}  // namespace

void check_weights(const Plan& plan, const std::vector<Stratum>& strata, const NotWeights& cells,
                   Flags& flags) {
  check_values(plan.sample.weight, cells, flags);
  if (cells.negative == 0 && cells.too_large == 0) check_zero(plan, strata, flags);
  flags.throw_if_stopped();
}

}  // namespace swardline
