#include "swardline/check/site_ground.hpp"

#include <algorithm>
#include <map>

#include "swardline/base/workers.hpp"

namespace swardline::check_parts {
namespace {

// Up to `most_blocks` all are looked at; of more, `most_of_many`, since the work that comes next reads them
// all.
constexpr std::size_t most_blocks = 256, most_of_many = 32;  // 16.8 and 2.1 million cells of every layer
// Where files hold whole lines, a block costs the lines it lies on; no more of them than this many cells.
constexpr std::int64_t most_in_lines = std::int64_t{1} << 28;

// Of so many, every how manieth is kept.
std::size_t stride_for(std::size_t count, std::size_t most) {
  return std::max<std::size_t>(1, (count + most - 1) / most);
}

// Lines of blocks that may be read at most.
std::size_t most_lines(const Layers& layers) {
  const Window all = layers.extent();
  const std::vector<Window> windows =
      layers.reading_windows({all.col, all.row, all.cols, std::min(all.rows, 1)});
  const bool in_lines = windows.size() == 1 && all.cols > 2 * block_cells;
  if (!in_lines) return most_blocks;
  const std::int64_t line = std::int64_t{all.cols} * block_cells;
  return std::size_t(std::clamp<std::int64_t>(most_in_lines / line, 1, std::int64_t(most_blocks)));
}

}  // namespace

SiteGround::SiteGround(const Sites& sites, const Layers& layers, CellsChecked cells, int threads)
    : all_of_(sites.sites.size(), true), whole_layers_(cells == CellsChecked::all) {
  const auto north_west_first = [](const Block& a, const Block& b) {
    return a.by != b.by ? a.by < b.by : a.bx < b.bx;
  };
  std::map<Block, std::vector<Piece>, decltype(north_west_first)> by_block(north_west_first);
  std::vector<std::vector<BlockPiece>> cut(sites.sites.size());
  in_runs(cut.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      if (!sites.sites[i].survey.empty()) cut[i] = cut_into_blocks(sites.sites[i].survey, layers.grid());
    }
  });
  for (std::size_t i = 0; i < cut.size(); ++i) {
    for (BlockPiece& piece : cut[i]) {
      const Block block = piece.block;
      by_block[block].push_back({i, std::move(piece)});
    }
  }
  blocks_.reserve(by_block.size());
  for (auto& [block, pieces] : by_block) blocks_.push_back({block, std::move(pieces)});
  if (!whole_layers_) thin(layers);
}

void SiteGround::thin(const Layers& layers) {
  const auto new_line = [this](std::size_t i) {
    return i == 0 || blocks_[i].block.by != blocks_[i - 1].block.by;
  };
  std::size_t lines = 0;
  for (std::size_t i = 0; i < blocks_.size(); ++i) lines += new_line(i) ? 1U : 0U;
  const std::size_t line_stride = stride_for(lines, most_lines(layers));
  std::vector<bool> on_line(blocks_.size());
  std::size_t left = 0;
  for (std::size_t i = 0, line = 0; i < blocks_.size(); ++i) {
    if (new_line(i)) ++line;
    on_line[i] = (line - 1) % line_stride == 0;
    left += on_line[i] ? 1U : 0U;
  }
  const std::size_t stride = stride_for(left, left > most_blocks ? most_of_many : most_blocks);
  std::vector<Looked> kept;
  for (std::size_t i = 0, turn = 0; i < blocks_.size(); ++i) {
    if (on_line[i] && turn++ % stride == 0) {
      kept.push_back(std::move(blocks_[i]));
      continue;
    }
    for (const Piece& piece : blocks_[i].pieces) all_of_[piece.site] = false;
  }
  blocks_ = std::move(kept);
}

std::vector<const SiteGround::Looked*> SiteGround::blocks_of_whole_sites() const {
  std::vector<const Looked*> blocks;
  for (const Looked& looked : blocks_) {
    if (std::any_of(looked.pieces.begin(), looked.pieces.end(),
                    [this](const Piece& piece) { return all_of_[piece.site]; }))
      blocks.push_back(&looked);
  }
  return blocks;
}

bool SiteGround::all_of_every_site() const {
  return std::find(all_of_.begin(), all_of_.end(), false) == all_of_.end();
}

}  // namespace swardline::check_parts
