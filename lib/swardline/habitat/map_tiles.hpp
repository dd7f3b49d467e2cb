// The cells of one map on their way into its file: tiles, overviews, statistics. Private to the stage.
#pragma once

#include <array>
#include <condition_variable>
#include <cstdint>
#include <filesystem>
#include <map>
#include <mutex>
#include <tuple>
#include <vector>

#include "swardline/grid/grid.hpp"
#include "swardline/grid/tiff_tiles.hpp"

namespace swardline {

enum class MapKind { percent, score, held_down };

/// What a map holds. Of held-down maps nothing is counted.
struct MapCounts {
  std::array<std::int64_t, 256> percents{};  ///< cells of each whole percent
  std::int64_t scored = 0;                   ///< of maps of scores: cells that have one
  double sum = 0, squares = 0, least = 0, most = 0;
  void add(const MapCounts& other);
};

/// Takes windows from any thread, in any order, under running numbers. Each thread compresses what its window
/// completes, tiles of the map and of every overview above them, outside the lock. A tile is written when its
/// turn has come: that of the last window it holds. So the file's bytes do not depend on the threads.
/// In memory are the tiles that are not complete yet, at most a row of them at each level, and few where the
/// windows come in squares.
class MapTiles {
 public:
  /// `file` as TiffTiles wants it, its overviews each half the level below.
  MapTiles(const std::filesystem::path& file, const std::filesystem::path& named, MapKind kind,
           const Window& extent);

  /// Waits while far ahead of the earliest window that is not here yet. False when abandon() was called.
  /// Throws IoError.
  bool write(std::size_t turn, const Window& window, const void* cells);
  /// Lets every waiting write() return.
  void abandon();
  /// Once all windows are here. Throws IoError.
  void finish();
  [[nodiscard]] const MapCounts& counts() const { return counts_; }
  [[nodiscard]] const std::vector<TiffTiles::Level>& levels() const { return file_.levels(); }

 private:
  struct Spot {
    std::size_t level = 0;
    int ty = 0, tx = 0;
    auto operator<=>(const Spot&) const = default;
  };
  struct OpenTile {
    std::vector<std::uint8_t> bytes;
    int filled = 0;
    std::size_t turn = 0;  ///< of the last window it holds
  };
  struct Packed {
    Spot spot;
    std::vector<std::uint8_t> bytes;
  };
  struct Turn {
    bool done = false;
    MapCounts counts;
    std::vector<Packed> tiles;
  };
  [[nodiscard]] std::size_t cell_bytes() const { return kind_ == MapKind::score ? 4 : 1; }
  [[nodiscard]] std::vector<std::uint8_t> blank_tile() const;
  [[nodiscard]] int cells_of(const Spot& spot) const;
  [[nodiscard]] OpenTile& open_tile(const Spot& spot);
  [[nodiscard]] OpenTile taken(const Spot& spot);
  [[nodiscard]] MapCounts counted(const Window& window, const void* cells) const;
  void give(std::size_t turn, const Window& part, const std::uint8_t* cells, const Spot& spot);
  void complete(const Spot& spot, std::size_t turn, const std::uint8_t* tile);
  bool halve_into(OpenTile& above, const Spot& spot, std::size_t turn, const std::uint8_t* tile);
  void write_turns();

  const MapKind kind_;
  const Window extent_;
  TiffTiles file_;
  std::mutex mutex_;
  std::condition_variable moved_;
  std::size_t next_ = 0;
  bool abandoned_ = false;
  std::map<Spot, OpenTile> open_;
  std::map<std::size_t, Turn> turns_;  ///< not written yet
  MapCounts counts_;
};

}  // namespace swardline
