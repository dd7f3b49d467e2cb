#include "swardline/design/blocks.hpp"

#include <fmt/format.h>
#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/block_tally.hpp"
#include "swardline/design/strata.hpp"
#include "swardline/design/walking_ways.hpp"

namespace swardline {
namespace {

constexpr std::int64_t spoken_numbers = 10000;  // four digits are said in one breath

std::int64_t last_digits(std::int64_t number) {
  return number - floor_div(number, spoken_numbers) * spoken_numbers;
}

double as_m2(std::int64_t mm2) { return double(mm2) * 1e-6; }

/// A point on the ground: its middle where that is ground.
Point point_on(const Geometry& ground) {
  GEOSContextHandle_t const handle = geos();
  Geometry point(GEOSGetCentroid_r(handle, ground.get()));
  Point at = points_of(point).front();
  if (ground.contains(at)) return at;
  point = Geometry(GEOSPointOnSurface_r(handle, ground.get()));
  return points_of(point).front();
}

std::size_t largest(const std::vector<std::int64_t>& sums) {
  return std::size_t(std::max_element(sums.begin(), sums.end()) - sums.begin());
}

BlockSpecies species_of(const ScoredSpecies& species, const SpeciesSums& sums) {
  BlockSpecies row;
  row.species = species.code;
  row.scored_m2 = as_m2(sums.scored);
  row.excluded_m2 = as_m2(sums.excluded);
  row.no_score_m2 = as_m2(sums.no_score);
  if (sums.scored == 0) {
    row.mean = std::numeric_limits<double>::quiet_NaN();
    row.held_down_by = species.categories.at(largest(sums.ground_of)).text;
    return row;
  }
  row.mean = double(sums.percent) / double(sums.scored) / 100;
  const std::size_t most = largest(sums.lost_to);
  if (sums.lost_to.at(most) == 0) return row;  // full marks
  row.held_down_by = species.categories[most].text;
  row.held_down_share = double(sums.ground_of[most]) / double(sums.scored);
  return row;
}

/// Ranks of one species within one site, from the whole-number sums.
void rank_site(std::vector<SiteBlock>& blocks, const std::vector<const BlockSums*>& sums, std::size_t first,
               std::size_t last, std::size_t species) {
  std::vector<std::size_t> order;
  for (std::size_t i = first; i < last; ++i)
    if (sums[i]->species[species].scored > 0) order.push_back(i);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return sums[a]->species[species].percent > sums[b]->species[species].percent;
  });
  for (std::size_t k = 0; k < order.size(); ++k) blocks[order[k]].species[species].rank = int(k) + 1;
}

void add_ways(const Access& access, const Site& site, std::vector<SiteBlock>& blocks, std::size_t first,
              std::size_t last) {
  const auto start = access.start.find(blocks[first].site);
  if (start == access.start.end()) {
    for (std::size_t i = first; i < last; ++i) blocks[i].way = "no start given";
    return;
  }
  std::vector<Point> points;
  for (std::size_t i = first; i < last; ++i) points.push_back(point_on(blocks[i].ground));
  const std::vector<WayTo> ways = ways_to({access, &site}, start->second, points);
  for (std::size_t i = first; i < last; ++i) {
    const WayTo& way = ways[i - first];
    SiteBlock& block = blocks[i];
    block.reached = way.open;
    block.way = !way.open ? "none: " + way.beyond : way.straight ? "straight" : "past a barrier";
    if (way.open) block.metres = way.metres;
    if (!way.open)
      block.caution = fmt::format("cannot be reached without crossing {}: needs a crossing", way.beyond);
  }
}

void add_slope(const BlockSums& sums, double steep_deg, SiteBlock& block) {
  if (sums.sloped == 0) return;
  block.slope_mean_deg = double(sums.slope) / double(sums.sloped) / 100;
  block.slope_steepest_deg = double(sums.steepest) / 100;
  if (*block.slope_steepest_deg <= steep_deg) return;
  block.caution +=
      fmt::format("{}slopes up to {:.0f}°, above {}°: look at it before anyone goes",
                  block.caution.empty() ? "" : "; ", *block.slope_steepest_deg, shortest(steep_deg));
}

}  // namespace

BlockGrid::BlockGrid(const Grid& grid, double side_m, const Place& place)
    : grid_(grid), side_m_(side_m), cells_(std::llround(side_m / grid.cell_m)) {
  const double off = std::abs(side_m - double(cells_) * grid.cell_m);
  if (cells_ >= 1 && off <= 1e-9 * side_m) return;
  const double below = std::floor(side_m / grid.cell_m) * grid.cell_m;
  throw InputError(place,
                   fmt::format("a block of {} m is no whole number of cells of {} m.", shortest(side_m),
                               shortest(grid.cell_m)),
                   below > 0 ? fmt::format("Write {} or {}.", shortest(below), shortest(below + grid.cell_m))
                             : fmt::format("Write {} or more.", shortest(grid.cell_m)));
}

Box BlockGrid::box(BlockNumber block) const {
  return grid_.box({block.east * cells_, (-block.north - 1) * cells_, int(cells_), int(cells_)});
}

std::string BlockGrid::name(const std::string& site, BlockNumber block) const {
  return fmt::format("{} {:04}-{:04}", site, last_digits(block.east), last_digits(block.north));
}

std::vector<std::pair<BlockNumber, Geometry>> BlockGrid::cut(const Geometry& polygons) const {
  // The polygon is cut along squares of block_cells cells; with cells of this size they are the blocks.
  const Grid fine{grid_.origin_x, grid_.origin_y, side_m_ / block_cells};
  std::vector<std::pair<BlockNumber, Geometry>> pieces;
  if (polygons.empty()) return pieces;
  for (BlockPiece& piece : cut_into_blocks(polygons, fine)) {
    const BlockNumber number{piece.block.bx, -piece.block.by - 1};
    pieces.emplace_back(number, piece.full ? box_polygon(box(number)) : std::move(piece.piece));
  }
  return pieces;
}

std::vector<std::string> layers_for_blocks(const Season& season) {
  std::vector<std::string> needed = layers_for_draw(season);
  const LayerSpec* elevation = season.plan.layer("elevation");
  const bool has_slope =
      season.plan.layer("slope") != nullptr || (elevation != nullptr && !elevation->is_classes());
  if (has_slope && std::find(needed.begin(), needed.end(), "slope") == needed.end())
    needed.emplace_back("slope");
  return needed;
}

SeasonBlocks rank_blocks(const Season& season, const Sites& sites, const Layers& layers, const Model& model,
                         const Access& access, double side_m, int threads, const Progress& progress) {
  const Plan& plan = season.plan;
  const bool as_planned = side_m == plan.blocks.side_m;
  const BlockGrid grid(layers.grid(), side_m, as_planned ? plan.blocks.place : Place{});
  const BlockTally tally = tally_blocks(grid, plan, sites, layers, model, threads, progress);
  SeasonBlocks result;
  result.side_m = side_m;
  std::vector<const BlockSums*> sums;
  for (std::size_t site = 0; site < sites.sites.size(); ++site) {
    const std::size_t first = result.blocks.size();
    for (auto& [number, ground] : grid.cut(sites.sites[site].survey)) {
      const auto found = tally.find({site, number});
      if (found == tally.end()) continue;  // less than a square millimetre
      SiteBlock block;
      block.site = sites.sites[site].code;
      block.name = grid.name(block.site, number);
      block.number = number;
      block.ground = std::move(ground);
      block.ground_m2 = as_m2(found->second.ground);
      const auto& chosen = plan.blocks.chosen;
      block.chosen = as_planned && std::find(chosen.begin(), chosen.end(), block.name) != chosen.end();
      for (std::size_t s = 0; s < model.species().size(); ++s)
        block.species.push_back(species_of(model.species()[s], found->second.species[s]));
      result.blocks.push_back(std::move(block));
    }
    const auto by_number = [](const SiteBlock& a, const SiteBlock& b) { return a.number < b.number; };
    std::sort(result.blocks.begin() + std::ptrdiff_t(first), result.blocks.end(), by_number);
    const std::size_t last = result.blocks.size();
    for (std::size_t i = first; i < last; ++i) sums.push_back(&tally.at({site, result.blocks[i].number}));
    if (first == last) continue;
    add_ways(access, sites.sites[site], result.blocks, first, last);
    for (std::size_t i = first; i < last; ++i) add_slope(*sums[i], plan.blocks.steep_deg, result.blocks[i]);
    for (std::size_t s = 0; s < model.species().size(); ++s) rank_site(result.blocks, sums, first, last, s);
  }
  return result;
}

std::vector<std::size_t> best_blocks(const SeasonBlocks& blocks, const std::string& site, std::size_t which) {
  std::vector<std::size_t> best;
  for (std::size_t i = 0; i < blocks.blocks.size(); ++i)
    if (blocks.blocks[i].site == site && blocks.blocks[i].species[which].rank > 0) best.push_back(i);
  std::sort(best.begin(), best.end(), [&](std::size_t a, std::size_t b) {
    return blocks.blocks[a].species[which].rank < blocks.blocks[b].species[which].rank;
  });
  return best;
}

}  // namespace swardline
