// Covered areas by site, species and whole percent. Private to the stage.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "swardline/grid/cover.hpp"
#include "swardline/habitat/kind_tally.hpp"
#include "swardline/habitat/lane_tally.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/habitat/score_season.hpp"
#include "swardline/habitat/step_tally.hpp"

namespace swardline {

/// The sites cut along the blocks they meet, and all of them together as one more area
/// (overlapping ground counts once there).
class SiteCover {
 public:
  SiteCover(const std::vector<NamedArea>& sites, const Grid& grid, int threads = 1);
  struct Piece {
    std::size_t area = 0;  ///< index into codes()
    BlockPiece piece;
  };
  [[nodiscard]] const std::vector<std::string>& codes() const { return codes_; }
  [[nodiscard]] const std::map<Block, std::vector<Piece>>& blocks() const { return blocks_; }
  [[nodiscard]] const Grid& grid() const { return grid_; }
  [[nodiscard]] bool meets(const Window& window) const;
  /// Whether no two sites overlap, so that all of them together are their sum and have no pieces.
  [[nodiscard]] bool apart() const { return apart_; }

 private:
  Grid grid_;
  bool apart_ = true;
  std::vector<std::string> codes_;
  std::map<Block, std::vector<Piece>> blocks_;
};

/// SiteSums of whole square millimetres, so that their order does not matter. One per worker. Ground of
/// species in joint groups is counted by the cells' numbers, of lanes by their keys, of the others by their
/// scores.
class Tally {
 public:
  Tally(const SiteCover& cover, const Model& model);
  /// `scores` needs to hold only the species that are in no joint group and no lane.
  void add(const Tile& tile, const ScoreTile& scores);
  void add(const Tally& other);
  [[nodiscard]] std::vector<SiteSpeciesScores> table(const std::vector<double>& bands) const;

 private:
  void add_piece(const SiteCover::Piece& piece, const Tile& tile, const ScoreTile& scores);
  void add_cell(std::size_t area, std::size_t cell, std::int64_t mm2, const Tile& tile,
                const ScoreTile& scores);
  void count_scores(std::size_t which, const Tile& tile, const SpeciesTile& scores, std::size_t first,
                    std::size_t cells);
  void give_counts(std::size_t which, std::size_t area, std::int64_t cell_area);
  [[nodiscard]] std::vector<SiteSums> all_sums() const;
  void add_kinds(std::size_t group, std::vector<SiteSums>& sums) const;
  [[nodiscard]] SiteSpeciesScores row(const SiteSums& sums, const std::vector<double>& bands) const;

  const SiteCover& cover_;
  Model model_;
  std::vector<SiteSums> sums_;  ///< area × species; of species in no group and no lane
  /// Cells of one species in the piece at hand; percents in two rows, as neighbours often have the same.
  struct Counts {
    std::array<std::array<std::uint32_t, 256>, 2> percent{};
    std::array<std::uint32_t, 256> reason{};
    std::int64_t reweighted = 0;
  };
  std::vector<Counts> counts_;    ///< beside Model::Inside::by_scores
  std::vector<KindTally> kinds_;  ///< beside Model::Inside::joint
  std::vector<LaneTally> lanes_;  ///< beside Model::Inside::by_lanes
  std::vector<StepTally> steps_;  ///< beside Model::Inside::steps()
  BlockCover covered_;
};

}  // namespace swardline
