#include "swardline/habitat/tally.hpp"

#include <algorithm>
#include <cmath>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

SiteCover::SiteCover(const std::vector<NamedArea>& sites, const Grid& grid) : grid_(grid) {
  std::vector<Geometry> areas;
  for (const NamedArea& site : sites) {
    codes_.push_back(site.code);
    areas.push_back(site.area);
  }
  if (sites.empty()) return;
  codes_.emplace_back("all");
  areas.push_back(polygons_of(united(areas)));
  for (std::size_t a = 0; a < areas.size(); ++a) {
    if (areas[a].empty()) continue;
    for (BlockPiece& piece : cut_into_blocks(areas[a], grid)) {
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
    : cover_(cover),
      model_(model),
      sums_(cover.codes().size() * model.species().size()),
      mm2_(std::size_t{block_cells} * block_cells) {
  for (const ScoredSpecies& species : model.species()) {
    auto& slot = slot_of_category_.emplace_back();
    slot.fill(std::uint8_t{no_score_slot});
    for (std::size_t c = 0; c < species.categories.size(); ++c)
      if (species.categories[c].kind == HeldDown::Kind::excluded) slot[c] = std::uint8_t{excluded_slot};
  }
}

void Tally::add(const Tile& tile, const ScoreTile& scores) {
  const Window& window = tile.window;
  const std::int64_t bx1 = floor_div(window.col + window.cols - 1, block_cells);
  const std::int64_t by0 = floor_div(window.row, block_cells);
  const std::int64_t by1 = floor_div(window.row + window.rows - 1, block_cells);
  for (std::int64_t bx = floor_div(window.col, block_cells); bx <= bx1; ++bx) {
    for (auto at = cover_.blocks().lower_bound({bx, by0});
         at != cover_.blocks().end() && at->first.bx == bx && at->first.by <= by1; ++at) {
      const Window block = at->first.window();
      const Window shared = intersect(block, window);
      for (const SiteCover::Piece& piece : at->second) {
        std::fill(mm2_.begin(), mm2_.end(), 0);
        add_cover(piece.piece, cover_.grid(), mm2_);
        covered_.clear();
        for (std::int64_t row = shared.row; row < shared.row + shared.rows; ++row) {
          const auto in_block = std::size_t((row - block.row) * block_cells - block.col);
          const auto in_tile = std::size_t((row - window.row) * window.cols - window.col);
          for (std::int64_t col = shared.col; col < shared.col + shared.cols; ++col)
            if (const std::int64_t mm2 = mm2_[in_block + std::size_t(col)]; mm2 > 0)
              covered_.push_back({in_tile + std::size_t(col), mm2});
        }
        add_piece(piece.area, tile, scores);
      }
    }
  }
}

void Tally::add_piece(std::size_t area, const Tile& tile, const ScoreTile& scores) {
  const Model::Inside& model = model_.inside();
  for (std::size_t s = 0; s < scores.species.size(); ++s) {
    Sums& sums = sums_[area * scores.species.size() + s];
    const SpeciesTile& species = scores.species[s];
    const auto& slot_of = slot_of_category_[s];
    for (const Covered& cell : covered_) {
      const std::uint8_t percent = species.percent[cell.cell];
      sums.mm2[percent == no_percent ? slot_of[species.held_down[cell.cell]] : percent] += cell.mm2;
    }
    const std::vector<std::size_t>& may_lack = model.plans[s].may_lack;
    if (may_lack.empty()) continue;
    for (const Covered& cell : covered_) {
      if (species.percent[cell.cell] == no_percent) continue;
      const bool lacks = std::any_of(may_lack.begin(), may_lack.end(), [&](std::size_t slot) {
        const LayerTile& layer = tile.layers[slot];
        return model.infos[slot].bytes ? model.infos[slot].byte_none[layer.bytes[cell.cell]]
                                       : std::isnan(layer.values[cell.cell]);
      });
      if (lacks) sums.reweighted += cell.mm2;
    }
  }
}

void Tally::add(const Tally& other) {
  for (std::size_t i = 0; i < sums_.size(); ++i) {
    for (std::size_t slot = 0; slot < slots; ++slot) sums_[i].mm2[slot] += other.sums_[i].mm2[slot];
    sums_[i].reweighted += other.sums_[i].reweighted;
  }
}

std::vector<SiteSpecies> Tally::table(const std::vector<double>& bands) const {
  constexpr double mm2_per_m2 = 1e6;
  std::vector<SiteSpecies> rows;
  const auto& species = model_.species();
  for (std::size_t a = 0; a < cover_.codes().size(); ++a) {
    for (std::size_t s = 0; s < species.size(); ++s) {
      const Sums& sums = sums_[a * species.size() + s];
      SiteSpecies row;
      row.site = cover_.codes()[a];
      row.species = species[s].code;
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
      row.excluded_m2 = double(sums.mm2[excluded_slot]) / mm2_per_m2;
      row.no_score_m2 = double(sums.mm2[no_score_slot]) / mm2_per_m2;
      rows.push_back(std::move(row));
    }
  }
  return rows;
}

}  // namespace swardline
