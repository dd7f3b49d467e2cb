#include "swardline/habitat/lane_tally.hpp"

#include <algorithm>
#include <cmath>

namespace swardline {

LaneTally::LaneTally(const ByteLanes& lanes, const Model::Inside& model, std::size_t areas)
    : LaneSums(model, lanes.species(), areas), lanes_(lanes), work_(lanes.work()) {
  const std::size_t count = lanes.species().size();
  // Not a multiple of 4096 bytes apart, where processors take one lane's count for another's.
  constexpr std::size_t line = 16, page = 1024;
  for (std::size_t lane = 0; lane < count; ++lane) row_ = std::max(row_, lanes.keys(lane));
  row_ = (row_ + line - 1) / line * line;
  if (row_ % page == 0) row_ += line;
  counts_.assign(row_ * ByteLanes::lanes, 0);
  slot_.assign(counts_.size(), std::uint8_t{SiteSums::no_score});
  for (std::size_t lane = 0; lane < count; ++lane) {
    for (std::size_t key = 0; key < lanes.keys(lane); ++key)
      slot_[lane * row_ + key] = std::uint8_t(
          SiteSums::slot(scored(lane), lanes.percent_of_key(lane, key), lanes.held_down_of_key(lane, key)));
  }
}

void LaneTally::count(const Tile& tile, std::size_t first, std::size_t cells) {
  const std::size_t lanes = lanes_.species().size();
  for (std::size_t begin = 0; begin < cells; begin += ByteLanes::most_cells) {
    const std::size_t count = std::min(ByteLanes::most_cells, cells - begin);
    lanes_.look(tile, first + begin, count, work_);
    // All lanes of a cell before the next cell: counts of one lane do not wait for each other so. Lanes
    // without a species have key 0, which nobody looks up.
    std::uint32_t* const counts = counts_.data();
    for (std::size_t i = 0; i < count; ++i) {
      const ByteLanes::Key* keys = work_.keys.data() + i * ByteLanes::lanes;
      for (std::size_t lane = 0; lane < ByteLanes::lanes; ++lane)
        ++counts[lane * row_ + std::size_t(keys[lane])];
    }
    for (std::size_t lane = 0; lane < lanes; ++lane) count_each(tile, first + begin, count, lane);
  }
}

/// Cells of a lane whose score does not follow from the key.
void LaneTally::count_each(const Tile& tile, std::size_t first, std::size_t count, std::size_t lane) {
  const ByteLanes::Key special = lanes_.special(lane);
  std::uint32_t& specials = counts_[lane * row_ + std::size_t(special)];
  if (lanes_.by_key(lane)) {
    if (specials == 0) return;
    for (std::size_t i = 0; i < count; ++i) {
      if (work_.keys[i * ByteLanes::lanes + lane] == special)
        add_cell(each(lane), tile, first + i, lane, lanes_.judged(tile, first + i, lane, work_), 1);
    }
    specials = 0;
    return;
  }
  SiteSums& sums = each(lane);
  lanes_.find_verdicts(tile, first, count, lane, work_);
  for (std::size_t i = 0; i < count; ++i) {
    const ByteLanes::Key key = work_.keys[i * ByteLanes::lanes + lane];
    if (key < special) continue;
    --counts_[lane * row_ + std::size_t(key)];
    if (key == special)
      add_cell(sums, tile, first + i, lane, work_.verdicts[i], 1);
    else
      ++sums.mm2[work_.verdicts[i].percent];
  }
}

void LaneTally::give_to(std::size_t area, std::int64_t cell_mm2) {
  for (std::size_t lane = 0; lane < species().size(); ++lane) {
    SiteSums& sums = sums_of(area, lane);
    for (std::size_t at = lane * row_; at < lane * row_ + lanes_.keys(lane); ++at) {
      if (counts_[at] == 0) continue;
      sums.mm2[slot_[at]] += counts_[at] * cell_mm2;
      counts_[at] = 0;
    }
  }
  give_each_to(area, cell_mm2);
}

void LaneTally::add(std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2) {
  for (std::size_t lane = 0; lane < species().size(); ++lane)
    add_cell(sums_of(area, lane), tile, cell, lane, lanes_.judged(tile, cell, lane, work_), mm2);
}

}  // namespace swardline
