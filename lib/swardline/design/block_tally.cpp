#include "swardline/design/block_tally.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <mutex>
#include <numbers>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"

namespace swardline {
namespace {

struct Piece {
  std::size_t site = 0;
  BlockPiece ground;
};

/// The sites' ground by tile of the global grid.
std::map<Block, std::vector<Piece>> tiles_of(const Sites& sites, const Grid& grid) {
  std::map<Block, std::vector<Piece>> tiles;
  for (std::size_t i = 0; i < sites.sites.size(); ++i) {
    if (sites.sites[i].survey.empty()) continue;
    for (BlockPiece& piece : cut_into_blocks(sites.sites[i].survey, grid)) {
      const Block block = piece.block;
      tiles[block].push_back({i, std::move(piece)});
    }
  }
  return tiles;
}

/// Slope of a cell in hundredths of a degree; negative where there is none.
class Slopes {
 public:
  explicit Slopes(const Layers& layers) {
    const auto index = layers.index("slope");
    if (!index || layers.infos()[*index].kind != LayerKind::measure) return;
    info_ = layers.infos()[*index];
    reader_.emplace(layers, std::vector<std::size_t>{*index});
  }
  void read(const Window& window) {
    if (reader_) reader_->read(window, tile_);
  }
  [[nodiscard]] std::int64_t at(std::size_t cell) const {
    if (!reader_) return -1;
    const LayerTile& layer = tile_.layers[0];
    if (info_.bytes && info_.byte_none[layer.bytes[cell]]) return -1;
    const double value = info_.value(info_.bytes ? double(layer.bytes[cell]) : double(layer.values[cell]));
    if (std::isnan(value) || value < 0) return -1;
    const double degrees = info_.unit == "percent" ? std::atan(value / 100) * 180 / std::numbers::pi : value;
    return std::llround(100 * std::min(degrees, 90.0));
  }

 private:
  LayerInfo info_;
  std::optional<LayerReader> reader_;
  Tile tile_;
};

/// One thread's work.
class Worker {
 public:
  Worker(const BlockGrid& blocks, const Layers& layers, const Model& model)
      : blocks_(blocks),
        layers_(layers),
        model_(model),
        reader_(layers, model.layers_needed()),
        scorer_(model),
        slopes_(layers),
        cover_(std::size_t(block_cells) * block_cells) {}

  void add(const Block& tile, const std::vector<Piece>& pieces) {
    const Window window = tile.window();
    reader_.read(window, tile_);
    scorer_.score(tile_, scores_);
    slopes_.read(window);
    for (const Piece& piece : pieces) {
      std::fill(cover_.begin(), cover_.end(), 0);
      add_cover(piece.ground, layers_.grid(), cover_);
      add_piece(piece.site, window);
    }
  }
  [[nodiscard]] const BlockTally& tally() const { return tally_; }
  [[nodiscard]] std::vector<Scorer::UnknownClass> unknown() const { return scorer_.unknown_classes(); }

 private:
  void add_piece(std::size_t site, const Window& window) {
    BlockSums* sums = nullptr;
    BlockNumber last;
    for (int r = 0; r < window.rows; ++r)
      for (int c = 0; c < window.cols; ++c) {
        const std::size_t cell = std::size_t(r) * std::size_t(window.cols) + std::size_t(c);
        if (cover_[cell] <= 0) continue;
        const BlockNumber number = blocks_.of_cell(window.col + c, window.row + r);
        if (sums == nullptr || number != last) sums = &sums_of({site, number});
        last = number;
        add_cell(*sums, cell, cover_[cell]);
      }
  }

  BlockSums& sums_of(const BlockKey& key) {
    BlockSums& sums = tally_[key];
    if (!sums.species.empty()) return sums;
    sums.species.resize(model_.species().size());
    for (std::size_t s = 0; s < sums.species.size(); ++s) {
      const std::size_t categories = model_.species()[s].categories.size();
      sums.species[s].ground_of.assign(categories, 0);
      sums.species[s].lost_to.assign(categories, 0);
    }
    return sums;
  }

  void add_cell(BlockSums& sums, std::size_t cell, std::int64_t mm2) {
    sums.ground += mm2;
    if (const std::int64_t slope = slopes_.at(cell); slope >= 0) {
      sums.sloped += mm2;
      sums.slope += mm2 * slope;
      sums.steepest = std::max(sums.steepest, slope);
    }
    for (std::size_t s = 0; s < sums.species.size(); ++s) {
      SpeciesSums& species = sums.species[s];
      const std::uint8_t percent = scores_.species[s].percent[cell];
      const std::uint8_t category = scores_.species[s].held_down[cell];
      const auto& categories = model_.species()[s].categories;
      if (category < categories.size()) species.ground_of[category] += mm2;
      if (percent != no_percent) {
        species.scored += mm2;
        species.percent += mm2 * percent;
        if (category < categories.size()) species.lost_to[category] += mm2 * (100 - percent);
      } else if (category < categories.size() && categories[category].kind == HeldDown::Kind::excluded) {
        species.excluded += mm2;
      } else {
        species.no_score += mm2;
      }
    }
  }

  const BlockGrid& blocks_;
  const Layers& layers_;
  const Model& model_;
  LayerReader reader_;
  Scorer scorer_;
  Slopes slopes_;
  std::vector<std::int64_t> cover_;
  Tile tile_;
  ScoreTile scores_;
  BlockTally tally_;
};

void refuse_unknown(const std::map<std::pair<std::string, long long>, std::int64_t>& unknown,
                    const Layers& layers) {
  if (unknown.empty()) return;
  const auto& [what, cells] = *unknown.begin();
  const auto index = layers.index(what.first);
  throw InputError(
      index ? layers.infos()[*index].place : Place{},
      fmt::format("{} value {} ({} cells) is in no legend.", what.first, what.second, grouped(cells)),
      fmt::format("Name it under [layers.{}] classes.", what.first));
}

}  // namespace

void BlockSums::add(const BlockSums& other) {
  ground += other.ground;
  sloped += other.sloped;
  slope += other.slope;
  steepest = std::max(steepest, other.steepest);
  for (std::size_t s = 0; s < species.size(); ++s) {
    SpeciesSums& to = species[s];
    const SpeciesSums& from = other.species[s];
    to.scored += from.scored;
    to.excluded += from.excluded;
    to.no_score += from.no_score;
    to.percent += from.percent;
    for (std::size_t c = 0; c < to.ground_of.size(); ++c) {
      to.ground_of[c] += from.ground_of[c];
      to.lost_to[c] += from.lost_to[c];
    }
  }
}

BlockTally tally_blocks(const BlockGrid& blocks, const Plan& plan, const Sites& sites, const Layers& layers,
                        const Model& model, int threads, const Progress& progress) {
  if (model.species().empty())
    throw InputError({plan.file.filename().string(), 0, {}},
                     "no species is scored, so no block ranks before another.",
                     "Give at least one sheet a rule.");
  const auto tiles = tiles_of(sites, layers.grid());
  std::vector<const std::pair<const Block, std::vector<Piece>>*> order;
  for (const auto& tile : tiles) order.push_back(&tile);
  BlockTally all;
  std::map<std::pair<std::string, long long>, std::int64_t> unknown;
  std::mutex guard;
  std::atomic<std::int64_t> done{0};
  in_runs(order.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    if (begin == end) return;
    Worker worker(blocks, layers, model);
    for (std::size_t i = begin; i < end; ++i) {
      worker.add(order[i]->first, order[i]->second);
      if (progress) progress("blocks", ++done, std::int64_t(order.size()));
    }
    const std::lock_guard lock(guard);
    for (const auto& [key, sums] : worker.tally()) {
      const auto [at, is_new] = all.emplace(key, sums);
      if (!is_new) at->second.add(sums);
    }
    for (const Scorer::UnknownClass& met : worker.unknown()) unknown[{met.layer, met.value}] += met.cells;
  });
  refuse_unknown(unknown, layers);
  return all;
}

}  // namespace swardline
