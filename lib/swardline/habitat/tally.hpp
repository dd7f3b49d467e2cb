// Covered areas by site, species and whole percent. Private to the stage.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "swardline/grid/cover.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {

/// The sites cut along the blocks they meet, and all of them together as one more area
/// (overlapping ground counts once there).
class SiteCover {
 public:
  SiteCover(const std::vector<NamedArea>& sites, const Grid& grid);
  struct Piece {
    std::size_t area = 0;  ///< index into codes()
    BlockPiece piece;
  };
  [[nodiscard]] const std::vector<std::string>& codes() const { return codes_; }
  [[nodiscard]] const std::map<Block, std::vector<Piece>>& blocks() const { return blocks_; }
  [[nodiscard]] const Grid& grid() const { return grid_; }
  [[nodiscard]] bool meets(const Window& window) const;

 private:
  Grid grid_;
  std::vector<std::string> codes_;
  std::map<Block, std::vector<Piece>> blocks_;
};

/// Sums of whole square millimetres, so that their order does not matter. One per worker.
class Tally {
 public:
  Tally(const SiteCover& cover, const Model& model);
  void add(const Tile& tile, const ScoreTile& scores);
  void add(const Tally& other);
  [[nodiscard]] std::vector<SiteSpecies> table(const std::vector<double>& bands) const;

 private:
  static constexpr std::size_t excluded_slot = 101, no_score_slot = 102, slots = 103;
  struct Sums {
    std::array<std::int64_t, slots> mm2{};  ///< by whole percent, then excluded and no score
    std::int64_t reweighted = 0;
  };
  struct Covered {
    std::size_t cell = 0;  ///< in the tile
    std::int64_t mm2 = 0;
  };
  void add_piece(std::size_t area, const Tile& tile, const ScoreTile& scores);

  const SiteCover& cover_;
  Model model_;
  std::vector<std::array<std::uint8_t, 256>> slot_of_category_;  ///< by species, of cells without a percent
  std::vector<Sums> sums_;                                       ///< area × species
  std::vector<std::int64_t> mm2_;
  std::vector<Covered> covered_;
};

}  // namespace swardline
