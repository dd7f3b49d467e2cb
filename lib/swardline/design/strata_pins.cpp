#include "swardline/design/strata_pins.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/edges.hpp"

namespace swardline {

using Inside = SeasonStrata::Inside;

std::vector<SitePiece> cut_tracts(const Inside& inside, int threads,
                                  const std::function<Geometry(const Tract&)>& ground) {
  const std::vector<Tract>& tracts = inside.tracts;
  std::vector<std::vector<BlockPiece>> by_tract(tracts.size());
  in_runs(tracts.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) by_tract[i] = cut_into_blocks(ground(tracts[i]), inside.grid());
  });
  std::vector<SitePiece> pieces;
  for (std::size_t i = 0; i < by_tract.size(); ++i) {
    for (BlockPiece& piece : by_tract[i])
      pieces.push_back({tracts[i].site, tracts[i].source, inside.head_of_tract[i], std::move(piece)});
  }
  std::stable_sort(pieces.begin(), pieces.end(), [](const SitePiece& a, const SitePiece& b) {
    return std::pair(a.ground.block, a.source) < std::pair(b.ground.block, b.source);
  });
  return pieces;
}

std::vector<std::pair<std::size_t, std::size_t>> runs_of_blocks(const std::vector<SitePiece>& pieces) {
  std::vector<std::pair<std::size_t, std::size_t>> runs;
  for (std::size_t i = 0; i < pieces.size(); ++i) {
    if (i > 0 && pieces[i].ground.block == pieces[i - 1].ground.block) {
      ++runs.back().second;
    } else {
      runs.emplace_back(i, i + 1);
    }
  }
  return runs;
}

namespace {

/// The nearest survey cell is at most as far as one that holds the survey ground nearest to the pin; a cell
/// more on every side for slivers too small to have an area.
int rim_of(const Inside& inside) {
  if (inside.grown_by_m <= 0) return 0;
  return int(std::ceil(std::sqrt(2.0) * std::ceil(inside.grown_by_m / inside.grid().cell_m))) + 1;
}

Window widened(const Window& window, int by) {
  return {window.col - by, window.row - by, window.cols + 2 * by, window.rows + 2 * by};
}

std::size_t index_in(const Window& window, std::int64_t col, std::int64_t row) {
  return std::size_t(row - window.row) * std::size_t(window.cols) + std::size_t(col - window.col);
}

/// Marks the cells of a window in which a piece has ground.
void mark(const BlockPiece& piece, const Grid& grid, const Window& window, std::vector<bool>& marked) {
  const Window block = piece.block.window(), shared = intersect(block, window);
  if (shared.empty()) return;
  std::vector<std::int64_t> cover;
  if (!piece.full) {
    cover.assign(block.cells(), 0);
    add_cover(piece, grid, cover);
  }
  for (int r = 0; r < shared.rows; ++r) {
    for (int c = 0; c < shared.cols; ++c) {
      const std::int64_t col = shared.col + c, row = shared.row + r;
      if (piece.full || cover[index_in(block, col, row)] > 0) marked[index_in(window, col, row)] = true;
    }
  }
}

}  // namespace

PinGround::PinGround(const Inside& inside, GroundReader& reader, std::size_t source, const Block& block)
    : inside_(inside), block_(block), rim_(rim_of(inside)), window_(widened(block.window(), rim_)) {
  reader.ground(source, window_, codes_);
}

void PinGround::find_survey_cells(std::size_t site) {
  if (site_ == site) return;
  site_ = site;
  survey_.assign(window_.cells(), false);
  const std::int64_t last_bx = floor_div(window_.col + window_.cols - 1, block_cells);
  const std::int64_t last_by = floor_div(window_.row + window_.rows - 1, block_cells);
  for (std::int64_t bx = floor_div(window_.col, block_cells); bx <= last_bx; ++bx) {
    for (std::int64_t by = floor_div(window_.row, block_cells); by <= last_by; ++by) {
      for (const SitePiece& piece : inside_.pieces_in({bx, by})) {
        if (piece.site == site) mark(piece.ground, inside_.grid(), window_, survey_);
      }
    }
  }
}

std::optional<std::size_t> PinGround::nearest_survey_cell(std::int64_t col, std::int64_t row) const {
  if (survey_[index_in(window_, col, row)]) return index_in(window_, col, row);
  std::optional<std::size_t> nearest;
  std::int64_t least = 0;
  // Rings of cells outwards, each from the north and west, until none can be nearer.
  for (std::int64_t ring = 1; ring <= rim_ && (!nearest || ring * ring <= least); ++ring) {
    for (std::int64_t dy = -ring; dy <= ring; ++dy) {
      const std::int64_t step = std::abs(dy) == ring ? 1 : 2 * ring;
      for (std::int64_t dx = -ring; dx <= ring; dx += step) {
        const std::size_t at = index_in(window_, col + dx, row + dy);
        const std::int64_t away = dx * dx + dy * dy;
        if (!survey_[at] || (nearest && (away > least || (away == least && at > *nearest)))) continue;
        nearest = at;
        least = away;
      }
    }
  }
  return nearest;
}

const std::vector<int>& PinGround::strata(const SitePiece& piece, const std::vector<std::int64_t>& cover) {
  const std::vector<int>& of_code = inside_.stratum_of[piece.head];
  strata_.assign(cover.size(), -1);
  if (rim_ > 0) find_survey_cells(piece.site);
  const Window block = block_.window();
  for (std::size_t i = 0; i < cover.size(); ++i) {
    if (cover[i] <= 0) continue;
    if (rim_ == 0) {
      strata_[i] = of_code[codes_[i]];
      continue;
    }
    const std::int64_t col = block.col + std::int64_t(i % block_cells);
    const std::int64_t row = block.row + std::int64_t(i / block_cells);
    // Round slivers without an area there is nothing to count, so no pin is needed.
    if (const auto from = nearest_survey_cell(col, row)) strata_[i] = of_code[codes_[*from]];
  }
  return strata_;
}

std::optional<std::pair<std::int64_t, std::int64_t>> PinGround::source(std::size_t site, std::int64_t col,
                                                                       std::int64_t row) {
  find_survey_cells(site);
  const auto from = nearest_survey_cell(col, row);
  if (!from) return {};
  return std::pair{window_.col + std::int64_t(*from) % window_.cols,
                   window_.row + std::int64_t(*from) / window_.cols};
}

int stratum_of_pin(const Inside& inside, const SitePiece& piece, std::int64_t col, std::int64_t row) {
  const Block block = block_at(col, row);
  const Inside::Borrowed reader(inside);
  PinGround ground(inside, *reader, piece.source, block);
  std::vector<std::int64_t> cover(block.window().cells(), 0);
  const std::size_t at = index_in(block.window(), col, row);
  cover[at] = 1;
  return ground.strata(piece, cover)[at];
}

std::pair<std::int64_t, std::int64_t> SeasonStrata::scored_cell(std::size_t site, std::int64_t col,
                                                                std::int64_t row) const {
  if (inside_->grown_by_m <= 0) return {col, row};
  const Inside::Borrowed reader(*inside_);
  // The cell is the same for every source.
  PinGround ground(*inside_, *reader, inside_->now(), block_at(col, row));
  return ground.source(site, col, row).value_or(std::pair{col, row});
}

namespace {

/// Ground for pins by piece and stratum.
std::vector<std::map<int, std::int64_t>> tally_pins(const Inside& inside, int threads,
                                                    const Progress& progress) {
  const auto runs = runs_of_blocks(inside.pin_pieces);
  std::vector<std::map<int, std::int64_t>> sums(inside.pin_pieces.size());
  std::atomic<std::int64_t> done{0};
  in_runs(runs.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    GroundReader reader(inside.layers, inside.model, inside.rule, inside.record);
    std::optional<PinGround> ground;
    std::vector<std::int64_t> cover(std::size_t(block_cells) * block_cells, 0);
    for (std::size_t i = begin; i < end; ++i) {
      std::optional<std::size_t> source;
      for (std::size_t p = runs[i].first; p < runs[i].second; ++p) {
        const SitePiece& piece = inside.pin_pieces[p];
        if (source != piece.source) {
          source = piece.source;
          ground.emplace(inside, reader, piece.source, piece.ground.block);
        }
        std::fill(cover.begin(), cover.end(), 0);
        add_cover(piece.ground, inside.grid(), cover);
        const std::vector<int>& strata = ground->strata(piece, cover);
        for (std::size_t k = 0; k < cover.size(); ++k) {
          if (cover[k] > 0 && strata[k] >= 0) sums[p][strata[k]] += cover[k];
        }
      }
      if (progress) progress("ground for pins", ++done, std::int64_t(runs.size()));
    }
  });
  return sums;
}

/// By site: how many tracts it has.
std::vector<int> tracts_by_site(const Inside& inside, const Sites& sites) {
  std::vector<int> count(sites.sites.size(), 0);
  for (const Tract& tract : inside.tracts) ++count[tract.site];
  return count;
}

/// A pin outside the survey area has the kind of the nearest cell, read from one source.
void check_one_source(const std::vector<int>& tracts, const SampleSpec& sample, const Sites& sites) {
  for (std::size_t site = 0; site < tracts.size(); ++site) {
    if (tracts[site] < 2) continue;
    throw InputError(
        sample.place,
        fmt::format("grown-frame: part of {} is new since the strata of record, so a pin outside "
                    "it could belong to either part.",
                    sites.sites[site].code),
        "Write edge = \"walk-through\"; or draw with --new-strata, where no plots are kept.");
  }
}

}  // namespace

void place_pins(Inside& inside, const SampleSpec& sample, const Sites& sites, int threads,
                const Progress& progress) {
  if (!pins_have_own_ground(sample)) {
    for (Stratum& stratum : inside.strata) stratum.frame_mm2 = stratum.area_mm2;
    return;
  }
  inside.pins_apart = true;
  // The ground for pins is a little wider than the reach.
  if (sample.edge == EdgeRule::grown_frame) inside.grown_by_m = 1.001 * sample.reach_m() + 0.01;
  const std::vector<int> tracts = tracts_by_site(inside, sites);
  if (sample.edge == EdgeRule::grown_frame) check_one_source(tracts, sample, sites);
  // Edges between tracts are no edges of the survey area.
  inside.pin_pieces = cut_tracts(inside, threads, [&](const Tract& tract) {
    Geometry ground = ground_for_pins(sample, sites.sites[tract.site].survey);
    return tracts[tract.site] == 1 ? std::move(ground) : polygons_of(intersection(ground, tract.ground));
  });
  const auto sums = tally_pins(inside, threads, progress);
  inside.blocks.assign(inside.strata.size(), {});
  for (std::size_t p = 0; p < sums.size(); ++p) {
    const Block& block = inside.pin_pieces[p].ground.block;
    for (const auto& [stratum, mm2] : sums[p]) {
      std::vector<BlockArea>& blocks = inside.blocks[std::size_t(stratum)];
      if (blocks.empty() || blocks.back().block != block) blocks.push_back({block, 0});
      blocks.back().mm2 += mm2;
      inside.strata[std::size_t(stratum)].frame_mm2 += mm2;
    }
  }
}

void check_grown_apart(const StrataRule& rule, const SampleSpec& sample, const Sites& sites) {
  if (sample.edge != EdgeRule::grown_frame) return;
  const double apart = 2 * sample.reach_m() + 0.2;
  for (std::size_t i = 0; i < sites.sites.size(); ++i) {
    const Site& a = sites.sites[i];
    if (a.verge) continue;
    Box around = a.survey.box();
    around = {around.x0 - apart, around.y0 - apart, around.x1 + apart, around.y1 + apart};
    for (std::size_t k = i + 1; k < sites.sites.size(); ++k) {
      const Site& b = sites.sites[k];
      if (b.verge || !around.meets(b.survey.box()) || rule.head(a) != rule.head(b)) continue;
      const double metres = distance(a.survey, b.survey);
      if (metres > apart) continue;
      throw InputError(
          sample.place,
          fmt::format("grown-frame: {} and {} share strata and lie {:.1f} m apart, so a pin between them "
                      "would belong to both.",
                      a.code, b.code, metres),
          "Add \"site\" to by under [strata], or write edge = \"walk-through\".");
    }
  }
}

}  // namespace swardline
