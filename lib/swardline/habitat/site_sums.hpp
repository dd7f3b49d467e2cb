// Ground of one species at one site by what it scores. Private to the stage.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>

#include "swardline/habitat/model.hpp"

namespace swardline {

/// Whole square millimetres, so that the order of adding does not matter.
struct SiteSums {
  static constexpr std::size_t excluded = 101, no_score = 102, slots = 103;
  std::array<std::int64_t, slots> mm2{};  ///< by whole percent, then excluded and no score
  std::int64_t reweighted = 0;            ///< of scored ground: where a layer had no data and others stood in
  void add(const SiteSums& other) {
    for (std::size_t slot = 0; slot < slots; ++slot) mm2[slot] += other.mm2[slot];
    reweighted += other.reweighted;
  }
  /// Of ground with this percent, or with this category of the held-down map where there is none.
  [[nodiscard]] static std::size_t slot(const ScoredSpecies& species, std::uint8_t percent,
                                        std::uint8_t category) {
    if (percent != no_percent) return percent;
    const bool out =
        category < species.categories.size() && species.categories[category].kind == HeldDown::Kind::excluded;
    return out ? excluded : no_score;
  }
};

}  // namespace swardline
