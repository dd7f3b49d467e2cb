#include "swardline/habitat/map_tiles.hpp"

#include <algorithm>
#include <cmath>
#include <cstring>
#include <limits>
#include <optional>

#include "swardline/base/error.hpp"
#include "swardline/habitat/map_tile.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {
namespace {

constexpr int tile_side = map_tile_cells;

/// Windows that may be done before an earlier one is: their compressed tiles are in memory.
constexpr std::size_t most_ahead = 32;

}  // namespace

void MapCounts::add(const MapCounts& other) {
  for (std::size_t i = 0; i < percents.size(); ++i) percents[i] += other.percents[i];
  if (other.scored == 0) return;
  least = scored == 0 ? other.least : std::min(least, other.least);
  most = scored == 0 ? other.most : std::max(most, other.most);
  scored += other.scored;
  sum += other.sum;
  squares += other.squares;
}

MapTiles::MapTiles(const std::filesystem::path& file, const std::filesystem::path& named, MapKind kind,
                   const Window& extent)
    : kind_(kind), extent_(extent), file_(file, named) {
  int cols = extent.cols, rows = extent.rows;
  for (const TiffTiles::Level& level : file_.levels()) {
    if (level.cols != cols || level.rows != rows || level.tiles_across != (cols + tile_side - 1) / tile_side)
      throw Defect("The directories of " + named.string() + " are not those asked for.");
    cols = (cols + 1) / 2;
    rows = (rows + 1) / 2;
  }
}

void MapTiles::abandon() {
  {
    const std::lock_guard lock(mutex_);
    abandoned_ = true;
  }
  moved_.notify_all();
}

bool MapTiles::write(std::size_t turn, const Window& window, const void* cells) {
  {
    // The earliest window never waits here, so the others do not wait for ever.
    std::unique_lock lock(mutex_);
    moved_.wait(lock, [&] { return abandoned_ || turn < next_ + most_ahead; });
    if (abandoned_) return false;
  }
  MapCounts counts = counted(window, cells);
  const Window part{window.col - extent_.col, window.row - extent_.row, window.cols, window.rows};
  for (int ty = int(part.row) / tile_side; ty * tile_side < part.row + part.rows; ++ty)
    for (int tx = int(part.col) / tile_side; tx * tile_side < part.col + part.cols; ++tx)
      give(turn, part, static_cast<const std::uint8_t*>(cells), {0, ty, tx});
  {
    const std::lock_guard lock(mutex_);
    Turn& own = turns_[turn];
    own.counts = counts;
    own.done = true;
    write_turns();
  }
  moved_.notify_all();
  return true;
}

MapCounts MapTiles::counted(const Window& window, const void* cells) const {
  MapCounts counts;
  if (kind_ == MapKind::percent)
    count_values({static_cast<const std::uint8_t*>(cells), window.cells()}, counts.percents);
  if (kind_ != MapKind::score) return counts;
  const auto* score = static_cast<const float*>(cells);
  for (std::size_t i = 0; i < window.cells(); ++i) {
    const auto value = double(score[i]);
    if (std::isnan(value)) continue;
    counts.least = counts.scored == 0 ? value : std::min(counts.least, value);
    counts.most = counts.scored == 0 ? value : std::max(counts.most, value);
    counts.sum += value;
    counts.squares += value * value;
    ++counts.scored;
  }
  return counts;
}

// Beyond the right and lower edge a tile holds what counts as nothing.
std::vector<std::uint8_t> MapTiles::blank_tile() const {
  const std::size_t cells = std::size_t(tile_side) * tile_side;
  std::vector<std::uint8_t> bytes(cells * cell_bytes(), no_percent);
  if (kind_ != MapKind::score) return bytes;
  const float none = std::numeric_limits<float>::quiet_NaN();
  for (std::size_t i = 0; i < cells; ++i) std::memcpy(bytes.data() + i * sizeof none, &none, sizeof none);
  return bytes;
}

int MapTiles::cells_of(const Spot& spot) const {
  const TiffTiles::Level& level = file_.levels()[spot.level];
  return std::min(tile_side, level.cols - spot.tx * tile_side) *
         std::min(tile_side, level.rows - spot.ty * tile_side);
}

MapTiles::OpenTile& MapTiles::open_tile(const Spot& spot) {
  const auto [at, is_new] = open_.try_emplace(spot);
  if (is_new) at->second.bytes = blank_tile();
  return at->second;
}

MapTiles::OpenTile MapTiles::taken(const Spot& spot) {
  const auto at = open_.find(spot);
  OpenTile tile = std::move(at->second);
  open_.erase(at);
  return tile;
}

void MapTiles::give(std::size_t turn, const Window& part, const std::uint8_t* cells, const Spot& spot) {
  const auto left = int(part.col), top = int(part.row);
  const int x0 = std::max(left, spot.tx * tile_side),
            x1 = std::min(left + part.cols, (spot.tx + 1) * tile_side);
  const int y0 = std::max(top, spot.ty * tile_side),
            y1 = std::min(top + part.rows, (spot.ty + 1) * tile_side);
  const std::uint8_t* from =
      cells + (std::size_t(y0 - top) * std::size_t(part.cols) + std::size_t(x0 - left)) * cell_bytes();
  const bool alone = (x1 - x0) * (y1 - y0) == cells_of(spot);
  if (alone && part.cols == tile_side && y1 - y0 == tile_side) return complete(spot, turn, from);
  const auto copy_to = [&](std::vector<std::uint8_t>& bytes) {
    for (int y = y0; y < y1; ++y) {
      const auto to =
          std::size_t(y - spot.ty * tile_side) * tile_side + std::size_t(x0 - spot.tx * tile_side);
      std::memcpy(bytes.data() + to * cell_bytes(),
                  from + std::size_t(y - y0) * std::size_t(part.cols) * cell_bytes(),
                  std::size_t(x1 - x0) * cell_bytes());
    }
  };
  OpenTile whole;
  if (alone) {
    whole.bytes = blank_tile();
    whole.turn = turn;
    copy_to(whole.bytes);
  } else {
    const std::lock_guard lock(mutex_);
    OpenTile& tile = open_tile(spot);
    copy_to(tile.bytes);
    tile.filled += (x1 - x0) * (y1 - y0);
    tile.turn = std::max(tile.turn, turn);
    if (tile.filled < cells_of(spot)) return;
    whole = taken(spot);
  }
  complete(spot, whole.turn, whole.bytes.data());
}

bool MapTiles::halve_into(OpenTile& above, const Spot& spot, std::size_t turn, const std::uint8_t* tile) {
  const std::size_t to =
      std::size_t(spot.ty % 2) * half_tile_cells * tile_side + std::size_t(spot.tx % 2) * half_tile_cells;
  std::uint8_t* half = above.bytes.data() + to * cell_bytes();
  if (kind_ == MapKind::percent) halve_percents(tile, half);
  if (kind_ == MapKind::score) halve_scores(tile, half);
  if (kind_ == MapKind::held_down) halve_categories(tile, half);
  const TiffTiles::Level& level = file_.levels()[spot.level];
  const int cols = std::min(tile_side, level.cols - spot.tx * tile_side),
            rows = std::min(tile_side, level.rows - spot.ty * tile_side);
  above.filled += ((cols + 1) / 2) * ((rows + 1) / 2);
  above.turn = std::max(above.turn, turn);
  return above.filled == cells_of({spot.level + 1, spot.ty / 2, spot.tx / 2});
}

// The turn a tile belongs to is not written before the thread that completes the tile has handed in its own
// window: that one is among those the tile's turn waits for.
void MapTiles::complete(const Spot& spot, std::size_t turn, const std::uint8_t* tile) {
  Packed done{spot, kind_ == MapKind::score ? packed_scores(tile) : packed_bytes(tile)};
  const Spot up{spot.level + 1, spot.ty / 2, spot.tx / 2};
  std::optional<OpenTile> above;
  {
    const std::lock_guard lock(mutex_);
    turns_[turn].tiles.push_back(std::move(done));
    if (up.level < file_.levels().size() && halve_into(open_tile(up), spot, turn, tile)) above = taken(up);
  }
  if (above) complete(up, above->turn, above->bytes.data());
}

void MapTiles::write_turns() {
  for (auto at = turns_.find(next_); at != turns_.end() && at->second.done; at = turns_.find(next_)) {
    Turn& turn = at->second;
    std::sort(turn.tiles.begin(), turn.tiles.end(),
              [](const Packed& a, const Packed& b) { return a.spot < b.spot; });
    for (const Packed& tile : turn.tiles) file_.put(tile.spot.level, tile.spot.tx, tile.spot.ty, tile.bytes);
    counts_.add(turn.counts);
    turns_.erase(at);
    ++next_;
  }
}

void MapTiles::finish() {
  if (!open_.empty() || !turns_.empty()) throw Defect("Windows left parts of a map unwritten.");
  file_.finish();
}

}  // namespace swardline
