#include "swardline/habitat/step_tally.hpp"

#include <algorithm>
#include <cstring>

namespace swardline {

StepTally::StepTally(const StepLanes& lanes, const Model::Inside& model, std::size_t areas)
    : LaneSums(model, lanes.species(), areas),
      lanes_(lanes),
      work_(lanes.work()),
      slots_(lanes.slots()),
      aside_(lanes.species().size()),
      percent_(span_cells),
      category_(span_cells) {
  for (const std::size_t s : lanes.species()) kernels_.emplace_back(model.plans[s], model.infos);
  for (Aside& aside : aside_) {
    aside.tile.layers.resize(model.infos.size());
    for (const std::size_t slot : slots_) {
      LayerTile& layer = aside.tile.layers[slot];
      if (model.infos[slot].bytes)
        layer.bytes.resize(span_cells);
      else
        layer.values.resize(span_cells);
    }
  }
}

void StepTally::count(const Tile& tile, std::size_t first, std::size_t cells) {
  for (std::size_t begin = 0; begin < cells; begin += StepLanes::most_cells) {
    const std::size_t count = std::min(StepLanes::most_cells, cells - begin);
    lanes_.look(tile, first + begin, count, work_);
    if (lanes_.width() == StepLanes::lanes)
      count_keys<StepLanes::lanes>(tile, first + begin, count);
    else
      count_keys<StepLanes::lanes / 2>(tile, first + begin, count);
  }
}

template <std::size_t Width>
void StepTally::count_keys(const Tile& tile, std::size_t first, std::size_t count) {
  std::uint32_t* const counts = counts_.data();
  for (std::size_t i = 0; i < count; ++i) {
    const StepLanes::Key* of_cell = work_.keys.data() + i * Width;
    std::array<std::uint64_t, Width / 8> words;
    std::memcpy(words.data(), of_cell, Width);
    std::uint64_t any = 0;
    for (std::size_t w = 0; w < words.size(); ++w) {
      any |= words[w];
      // Keys out of a register: it takes in as many bytes in one go.
      for (std::size_t k = 0; k < 8; ++k) ++counts[(w * 8 + k) * row + (words[w] >> (8 * k) & 0xFF)];
    }
    constexpr std::uint64_t odd = 0x0101010101010101U;  // keys that are not certain have the lowest bit
    if ((any & odd) != 0) put_aside(tile, first + i, of_cell);
  }
}

void StepTally::put_aside(const Tile& tile, std::size_t cell, const StepLanes::Key* keys_of_cell) {
  for (std::size_t lane = 0; lane < aside_.size(); ++lane) {
    if (StepLanes::certain(keys_of_cell[lane])) continue;
    --counts_[lane * row + keys_of_cell[lane]];
    Aside& aside = aside_[lane];
    for (const std::size_t slot : slots_) {
      LayerTile& to = aside.tile.layers[slot];
      if (to.values.empty())
        to.bytes[aside.cells] = tile.layers[slot].bytes[cell];
      else
        to.values[aside.cells] = tile.layers[slot].values[cell];
    }
    if (++aside.cells == span_cells) score_aside(lane);
  }
}

void StepTally::score_aside(std::size_t lane) {
  Aside& aside = aside_[lane];
  kernels_[lane].score(aside.tile, 0, aside.cells, false, percent_.data(), category_.data(), nullptr);
  for (std::size_t i = 0; i < aside.cells; ++i)
    add_cell(each(lane), aside.tile, i, lane, {percent_[i], category_[i], no_value}, 1);
  aside.cells = 0;
}

void StepTally::give_to(std::size_t area, std::int64_t cell_mm2) {
  for (std::size_t lane = 0; lane < species().size(); ++lane) {
    score_aside(lane);
    SiteSums& sums = sums_of(area, lane);
    for (std::size_t k = 0; k < keys; ++k) {
      const std::uint32_t cells = counts_[lane * row + k];
      if (cells == 0) continue;
      const auto key = StepLanes::Key(k);
      sums.mm2[SiteSums::slot(scored(lane), lanes_.percent(lane, key), lanes_.category(lane, key))] +=
          cells * cell_mm2;
    }
  }
  counts_ = {};
  give_each_to(area, cell_mm2);
}

void StepTally::add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2) {
  lanes_.look(tile, cell, 1, work_);
  for (std::size_t lane = 0; lane < species().size(); ++lane) {
    const StepLanes::Key key = work_.keys[lane];
    Verdict verdict{lanes_.percent(lane, key), lanes_.category(lane, key), no_value};
    if (!StepLanes::certain(key))
      kernels_[lane].score(tile, cell, 1, false, &verdict.percent, &verdict.held_down, nullptr);
    add_cell(sums_of(area, lane), tile, cell, lane, verdict, mm2);
  }
}

}  // namespace swardline
