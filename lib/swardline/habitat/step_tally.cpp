#include "swardline/habitat/step_tally.hpp"

#include <algorithm>
#include <cstring>

namespace swardline {

StepTally::StepTally(const StepLanes& lanes, const Model::Inside& model, std::size_t areas)
    : lanes_(lanes), model_(model) {
  for (const std::size_t s : lanes.species()) kernels_.emplace_back(model.plans[s], model.infos);
  each_.resize(lanes.species().size());
  sums_.resize(areas * lanes.species().size());
}

void StepTally::count(const Tile& tile, std::size_t first, std::size_t cells) {
  for (std::size_t begin = 0; begin < cells; begin += StepLanes::most_cells) {
    const std::size_t count = std::min(StepLanes::most_cells, cells - begin);
    lanes_.look(tile, first + begin, count, work_);
    for (std::size_t i = 0; i < count; ++i) {
      const StepLanes::Key* of_cell = work_.keys.data() + i * StepLanes::lanes;
      for (std::size_t lane = 0; lane < StepLanes::lanes; ++lane) ++counts_[lane][of_cell[lane]];
      // One look for all lanes: odd keys have the lowest bit.
      std::array<std::uint64_t, 2> halves{};
      static_assert(sizeof halves == StepLanes::lanes);
      std::memcpy(halves.data(), of_cell, sizeof halves);
      constexpr std::uint64_t odd = 0x0101010101010101U;
      if (((halves[0] | halves[1]) & odd) != 0) count_uncertain(tile, first + begin + i, of_cell);
    }
  }
}

void StepTally::count_uncertain(const Tile& tile, std::size_t cell, const StepLanes::Key* keys_of_cell) {
  for (std::size_t lane = 0; lane < species().size(); ++lane) {
    if (StepLanes::certain(keys_of_cell[lane])) continue;
    --counts_[lane][keys_of_cell[lane]];
    add_cell(each_[lane], tile, cell, lane, 1);
  }
}

void StepTally::give_to(std::size_t area, std::int64_t cell_mm2) {
  for (std::size_t lane = 0; lane < species().size(); ++lane) {
    const ScoredSpecies& of = model_.species[species()[lane]];
    SiteSums& sums = sums_[area * species().size() + lane];
    for (std::size_t k = 0; k < keys; ++k) {
      if (counts_[lane][k] == 0) continue;
      const auto key = StepLanes::Key(k);
      sums.mm2[SiteSums::slot(of, lanes_.percent(lane, key), lanes_.category(lane, key))] +=
          counts_[lane][k] * cell_mm2;
    }
    SiteSums& each = each_[lane];
    for (std::size_t slot = 0; slot < SiteSums::slots; ++slot) sums.mm2[slot] += each.mm2[slot] * cell_mm2;
    sums.reweighted += each.reweighted * cell_mm2;
    each = {};
  }
  counts_ = {};
}

void StepTally::add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2) {
  for (std::size_t lane = 0; lane < species().size(); ++lane)
    add_cell(sums_[area * species().size() + lane], tile, cell, lane, mm2);
}

void StepTally::add_cell(SiteSums& sums, const Tile& tile, std::size_t cell, std::size_t lane,
                         std::int64_t mm2) {
  const std::size_t s = species()[lane];
  std::uint8_t percent = no_percent, category = 0;
  kernels_[lane].score(tile, cell, 1, false, &percent, &category, nullptr);
  sums.mm2[SiteSums::slot(model_.species[s], percent, category)] += mm2;
  if (percent != no_percent && others_stand_in(model_, s, tile, cell)) sums.reweighted += mm2;
}

void StepTally::add(const StepTally& other) {
  for (std::size_t i = 0; i < sums_.size(); ++i) sums_[i].add(other.sums_[i]);
}

}  // namespace swardline
