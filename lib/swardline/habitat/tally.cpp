#include "swardline/habitat/tally.hpp"

#include <algorithm>
#include <cmath>
#include <unordered_map>

#include "swardline/base/workers.hpp"
#include "swardline/habitat/model_parts.hpp"

namespace swardline {

SiteCover::SiteCover(const std::vector<NamedArea>& sites, const Grid& grid, int threads) : grid_(grid) {
  std::vector<Geometry> areas;
  for (const NamedArea& site : sites) {
    codes_.push_back(site.code);
    areas.push_back(site.area);
  }
  if (sites.empty()) return;
  codes_.emplace_back("all");
  Geometry all = polygons_of(united(areas));
  double sum = 0;
  for (const Geometry& area : areas) sum += area.area();
  constexpr double touching = 1e-9;  // overlaps that are rounding of coordinates
  apart_ = sum - all.area() <= touching * sum;
  areas.push_back(apart_ ? Geometry() : std::move(all));
  std::vector<std::vector<BlockPiece>> cut(areas.size());
  in_runs(cut.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t a = begin; a < end; ++a) {
      if (!areas[a].empty()) cut[a] = cut_into_blocks(areas[a], grid);
    }
  });
  for (std::size_t a = 0; a < cut.size(); ++a) {
    for (BlockPiece& piece : cut[a]) {
      const Block block = piece.block;
      blocks_[block].push_back({a, std::move(piece)});
    }
  }
}

bool SiteCover::meets(const Window& window) const {
  const std::int64_t bx0 = floor_div(window.col, block_cells);
  const std::int64_t bx1 = floor_div(window.col + window.cols - 1, block_cells);
  const std::int64_t by1 = floor_div(window.row + window.rows - 1, block_cells);
  for (std::int64_t bx = bx0; bx <= bx1; ++bx) {
    const auto first = blocks_.lower_bound({bx, floor_div(window.row, block_cells)});
    if (first != blocks_.end() && first->first.bx == bx && first->first.by <= by1) return true;
  }
  return false;
}

Tally::Tally(const SiteCover& cover, const Model& model)
    : cover_(cover), model_(model), sums_(cover.codes().size() * model.species().size()) {
  counts_.resize(model_.inside().by_scores.size());
  for (const JointGroup& group : model_.inside().joint) kinds_.emplace_back(group, cover.codes().size());
  for (const auto& lanes : model_.inside().by_lanes)
    lanes_.emplace_back(*lanes, model_.inside(), cover.codes().size());
  for (const auto& steps : model_.inside().steps())
    steps_.emplace_back(*steps, model_.inside(), cover.codes().size());
}

void Tally::add(const Tile& tile, const ScoreTile& scores) {
  const Window& window = tile.window;
  const std::int64_t bx1 = floor_div(window.col + window.cols - 1, block_cells);
  const std::int64_t by0 = floor_div(window.row, block_cells);
  const std::int64_t by1 = floor_div(window.row + window.rows - 1, block_cells);
  for (std::int64_t bx = floor_div(window.col, block_cells); bx <= bx1; ++bx) {
    for (auto at = cover_.blocks().lower_bound({bx, by0});
         at != cover_.blocks().end() && at->first.bx == bx && at->first.by <= by1; ++at) {
      for (const SiteCover::Piece& piece : at->second) add_piece(piece, tile, scores);
    }
  }
}

void Tally::add_piece(const SiteCover::Piece& piece, const Tile& tile, const ScoreTile& scores) {
  cover_of(piece.piece, cover_.grid(), covered_);
  const std::int64_t cell_area = cell_mm2(cover_.grid());
  const Window block = piece.piece.block.window(), shared = intersect(block, tile.window);
  const std::vector<std::size_t>& by_scores = model_.inside().by_scores;
  // A cell of the block as one of the tile.
  const auto in_tile = [&](std::int64_t row, std::int64_t col) {
    return std::size_t((block.row + row - tile.window.row) * tile.window.cols + block.col + col -
                       tile.window.col);
  };
  const std::int64_t left = shared.col - block.col, right = left + shared.cols;
  const std::int64_t top = shared.row - block.row, bottom = top + shared.rows;
  for (const BlockCover::Run& run : covered_.whole) {
    const std::int64_t first = run.first, last = first + run.count - 1;
    for (std::int64_t row = std::max(first / block_cells, top);
         row < std::min(last / block_cells + 1, bottom); ++row) {
      const std::int64_t from = std::max({first - row * block_cells, left, std::int64_t{0}});
      const std::int64_t to = std::min({last + 1 - row * block_cells, right, std::int64_t{block_cells}});
      if (from >= to) continue;
      const std::size_t cell = in_tile(row, from);
      for (KindTally& kinds : kinds_) kinds.count(tile, cell, std::size_t(to - from));
      for (LaneTally& lanes : lanes_) lanes.count(tile, cell, std::size_t(to - from));
      for (StepTally& steps : steps_) steps.count(tile, cell, std::size_t(to - from));
      for (std::size_t i = 0; i < by_scores.size(); ++i)
        count_scores(i, tile, scores.species[by_scores[i]], cell, std::size_t(to - from));
    }
  }
  for (KindTally& kinds : kinds_) kinds.give_to(piece.area, cell_area);
  for (LaneTally& lanes : lanes_) lanes.give_to(piece.area, cell_area);
  for (StepTally& steps : steps_) steps.give_to(piece.area, cell_area);
  for (std::size_t i = 0; i < by_scores.size(); ++i) give_counts(i, piece.area, cell_area);
  for (const BlockCover::Cut& cut : covered_.cut) {
    const std::int64_t row = cut.place / block_cells, col = cut.place % block_cells;
    if (row < top || row >= bottom || col < left || col >= right) continue;
    const std::size_t cell = in_tile(row, col);
    for (KindTally& kinds : kinds_) kinds.add(piece.area, tile, cell, cut.mm2);
    for (LaneTally& lanes : lanes_) lanes.add(piece.area, tile, cell, cut.mm2);
    for (StepTally& steps : steps_) steps.add(piece.area, tile, cell, cut.mm2);
    add_cell(piece.area, cell, cut.mm2, tile, scores);
  }
}

/// Cells of a run by percent, and by reason where there is none; of the species by_scores[which].
void Tally::count_scores(std::size_t which, const Tile& tile, const SpeciesTile& scores, std::size_t first,
                         std::size_t cells) {
  const std::size_t s = model_.inside().by_scores[which];
  Counts& counts = counts_[which];
  std::size_t i = first;
  const std::size_t end = first + cells;
  for (; i + 2 <= end; i += 2) {
    ++counts.percent[0][scores.percent[i]];
    ++counts.percent[1][scores.percent[i + 1]];
  }
  if (i < end) ++counts.percent[0][scores.percent[i]];
  for (i = first; i < end; ++i)
    if (scores.percent[i] == no_percent) ++counts.reason[scores.held_down[i]];
  if (model_.inside().plans[s].may_lack.empty()) return;
  for (i = first; i < end; ++i) {
    if (scores.percent[i] != no_percent && others_stand_in(model_.inside(), s, tile, i)) ++counts.reweighted;
  }
}

void Tally::give_counts(std::size_t which, std::size_t area, std::int64_t cell_area) {
  const std::size_t s = model_.inside().by_scores[which];
  SiteSums& sums = sums_[area * model_.species().size() + s];
  Counts& counts = counts_[which];
  for (std::size_t percent = 0; percent <= 100; ++percent)
    sums.mm2[percent] += (std::int64_t{counts.percent[0][percent]} + counts.percent[1][percent]) * cell_area;
  for (std::size_t category = 0; category < counts.reason.size(); ++category) {
    if (counts.reason[category] == 0) continue;
    sums.mm2[SiteSums::slot(model_.species()[s], no_percent, std::uint8_t(category))] +=
        counts.reason[category] * cell_area;
  }
  sums.reweighted += counts.reweighted * cell_area;
  counts = {};
}

void Tally::add_cell(std::size_t area, std::size_t cell, std::int64_t mm2, const Tile& tile,
                     const ScoreTile& scores) {
  const Model::Inside& model = model_.inside();
  for (const std::size_t s : model.by_scores) {
    SiteSums& sums = sums_[area * model_.species().size() + s];
    const std::uint8_t percent = scores.species[s].percent[cell];
    sums.mm2[SiteSums::slot(model_.species()[s], percent, scores.species[s].held_down[cell])] += mm2;
    if (percent != no_percent && others_stand_in(model, s, tile, cell)) sums.reweighted += mm2;
  }
}

void Tally::add(const Tally& other) {
  for (std::size_t i = 0; i < sums_.size(); ++i) sums_[i].add(other.sums_[i]);
  for (std::size_t group = 0; group < kinds_.size(); ++group) kinds_[group].add(other.kinds_[group]);
  for (std::size_t set = 0; set < lanes_.size(); ++set) lanes_[set].add(other.lanes_[set]);
  for (std::size_t set = 0; set < steps_.size(); ++set) steps_[set].add(other.steps_[set]);
}

/// What each species of a group makes of the numbers that were met.
void Tally::add_kinds(std::size_t group, std::vector<SiteSums>& sums) const {
  const Model::Inside& model = model_.inside();
  const JointGroup& joint = model.joint[group];
  const std::size_t species = model_.species().size();
  std::vector<std::uint8_t> bytes(model.infos.size(), 0);
  std::vector<double> responses;
  std::vector<RuleTree::Scratch> scratch;
  for (const std::size_t s : joint.species) scratch.push_back(model.plans[s].tree.scratch());
  /// Of one number and species: where its ground is added, and whether as re-weighted too.
  struct Place {
    std::uint8_t slot = 0;
    bool reweighted = false;
  };
  std::unordered_map<std::uint32_t, std::vector<Place>> known;
  const auto places_of = [&](std::uint32_t number) -> const std::vector<Place>& {
    const auto [at, is_new] = known.try_emplace(number);
    if (!is_new) return at->second;
    for (const JointGroup::Axis& axis : joint.axes)
      bytes[axis.slot] = axis.example[number / axis.stride % axis.example.size()];
    for (std::size_t i = 0; i < joint.species.size(); ++i) {
      const std::size_t s = joint.species[i];
      const SpeciesPlan& plan = model.plans[s];
      responses.resize(plan.factors.size());
      const Verdict verdict = judge(plan, bytes, responses, scratch[i]);
      const bool scored = verdict.percent != no_percent;
      const bool lacking = std::any_of(plan.may_lack.begin(), plan.may_lack.end(), [&](std::size_t slot) {
        return model.infos[slot].byte_none[bytes[slot]];
      });
      at->second.push_back(
          {std::uint8_t(SiteSums::slot(model_.species()[s], verdict.percent, verdict.held_down)),
           scored && lacking});
    }
    return at->second;
  };
  for (std::size_t area = 0; area < cover_.codes().size(); ++area) {
    kinds_[group].each(area, [&](std::uint32_t number, std::int64_t mm2) {
      const std::vector<Place>& places = places_of(number);
      for (std::size_t i = 0; i < places.size(); ++i) {
        SiteSums& to = sums[area * species + joint.species[i]];
        to.mm2[places[i].slot] += mm2;
        if (places[i].reweighted) to.reweighted += mm2;
      }
    });
  }
}

std::vector<SiteSums> Tally::all_sums() const {
  std::vector<SiteSums> sums = sums_;
  for (std::size_t group = 0; group < kinds_.size(); ++group) add_kinds(group, sums);
  const std::size_t species = model_.species().size();
  const auto take = [&](const auto& sets) {
    for (const auto& set : sets) {
      for (std::size_t area = 0; area < cover_.codes().size(); ++area) {
        for (std::size_t lane = 0; lane < set.species().size(); ++lane)
          sums[area * species + set.species()[lane]].add(set.sums(area, lane));
      }
    }
  };
  take(lanes_);
  take(steps_);
  if (cover_.codes().empty() || !cover_.apart()) return sums;
  const std::size_t all = cover_.codes().size() - 1;
  for (std::size_t area = 0; area < all; ++area) {
    for (std::size_t s = 0; s < species; ++s) sums[all * species + s].add(sums[area * species + s]);
  }
  return sums;
}

SiteSpeciesScores Tally::row(const SiteSums& sums, const std::vector<double>& bands) const {
  constexpr double mm2_per_m2 = 1e6;
  SiteSpeciesScores row;
  std::vector<std::int64_t> band_mm2(bands.size() + 1);
  std::int64_t scored = 0;
  double weighted = 0;
  for (int percent = 0; percent <= 100; ++percent) {
    const std::int64_t mm2 = sums.mm2[std::size_t(percent)];
    band_mm2[band_of(bands, percent)] += mm2;
    scored += mm2;
    weighted += double(mm2) * percent;
  }
  for (const std::int64_t mm2 : band_mm2) row.band_m2.push_back(double(mm2) / mm2_per_m2);
  row.mean = scored > 0 ? weighted / double(scored) / 100.0 : no_value;
  row.reweighted_share = scored > 0 ? double(sums.reweighted) / double(scored) : 0;
  row.excluded_m2 = double(sums.mm2[SiteSums::excluded]) / mm2_per_m2;
  row.no_score_m2 = double(sums.mm2[SiteSums::no_score]) / mm2_per_m2;
  return row;
}

std::vector<SiteSpeciesScores> Tally::table(const std::vector<double>& bands) const {
  const std::vector<SiteSums> sums = all_sums();
  std::vector<SiteSpeciesScores> rows;
  const auto& species = model_.species();
  for (std::size_t a = 0; a < cover_.codes().size(); ++a) {
    for (std::size_t s = 0; s < species.size(); ++s) {
      rows.push_back(row(sums[a * species.size() + s], bands));
      rows.back().site = cover_.codes()[a];
      rows.back().species = species[s].code;
    }
  }
  return rows;
}

}  // namespace swardline
