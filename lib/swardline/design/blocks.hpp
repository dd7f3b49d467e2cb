// Where to lay plots and transects: square blocks of the global grid within sites, ranked by species with
// the reason, the way from the parking and the slope; and the draw held to blocks somebody chose.
//
// The block may be chosen, the start is always random: plots are still drawn at random, over the chosen
// blocks' ground alone, and estimates then speak for that ground, never for the site.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/design/site.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

/// A block's place among all blocks of its size: its south-west corner in sides from the grid's origin, so
/// that it never depends on the extent.
struct BlockNumber {
  std::int64_t east = 0, north = 0;
  friend auto operator<=>(const BlockNumber&, const BlockNumber&) = default;
};

/// Squares of a whole number of cells that cover the plane.
class BlockGrid {
 public:
  /// Throws InputError, at `place`, where `side_m` is no whole number of cells.
  BlockGrid(const Grid& grid, double side_m, const Place& place);
  [[nodiscard]] double side_m() const { return side_m_; }
  [[nodiscard]] BlockNumber of_cell(std::int64_t col, std::int64_t row) const {
    return {floor_div(col, cells_), -floor_div(row, cells_) - 1};
  }
  [[nodiscard]] Box box(BlockNumber block) const;
  /// "QPR 7601-2003": the site and the last four digits of the numbers eastwards and northwards.
  [[nodiscard]] std::string name(const std::string& site, BlockNumber block) const;
  /// The polygons cut along the blocks they meet, by block.
  [[nodiscard]] std::vector<std::pair<BlockNumber, Geometry>> cut(const Geometry& polygons) const;

 private:
  Grid grid_;
  double side_m_;
  std::int64_t cells_;  ///< a side
};

/// What a species' rule says of a block's ground.
struct BlockSpecies {
  std::string species;  ///< code
  int rank = 0;         ///< within its site, from 1; 0 where nothing is scored
  double mean = 0;      ///< area-weighted mean of scored ground's whole percents, as 0…1; NaN when none
  double scored_m2 = 0, excluded_m2 = 0, no_score_m2 = 0;  ///< they add up to the block's ground
  /// The factor to which most of what is missing to full marks is due ("canopy"), and the share of the scored
  /// ground that it holds down; where nothing is scored why ("excluded: cover OW"); empty at full marks.
  std::string held_down_by;
  double held_down_share = 0;
};

/// One site's part of one block.
struct SiteBlock {
  std::string name;
  std::string site;
  BlockNumber number;
  Geometry ground;  ///< survey area within the block
  double ground_m2 = 0;
  bool chosen = false;  ///< by the plan
  /// From the site's parking or entry to a point on the ground, by the way past barriers; none where the plan
  /// names no start for the site, or no way leads there.
  std::optional<double> metres;
  /// "straight", "round or through a barrier", "none: fence without a gate …", "no start given".
  std::string way;
  bool reached = true;  ///< false where a barrier without a crossing lies between
  std::optional<double> slope_mean_deg, slope_steepest_deg;  ///< of cells with elevation
  std::string caution;                ///< steeper than the plan's limit, or not reached; empty
  std::vector<BlockSpecies> species;  ///< in Model::species() order
};

struct SeasonBlocks {
  double side_m = 0;
  std::vector<SiteBlock> blocks;  ///< by site, then number
};

/// Layers that rank_blocks can use, each once (for Layers::open): those of the draw, and slope where the plan
/// has elevation.
[[nodiscard]] std::vector<std::string> layers_for_blocks(const Season& season);

/// One pass over the tiles that meet a survey area; memory by blocks, never by cells; the same result for
/// any number of threads. Blocks rank by mean score times scored ground, so that a sliver with one good cell
/// does not come first; equal ones by number. Throws InputError where no species is scored, where the side is
/// no whole number of cells, or a class value is in no legend.
[[nodiscard]] SeasonBlocks rank_blocks(const Season& season, const Sites& sites, const Layers& layers,
                                       const Model& model, const Access& access, double side_m, int threads,
                                       const Progress& progress);

/// Indices into SeasonBlocks::blocks of a site's blocks with a rank for species `which`, best first.
[[nodiscard]] std::vector<std::size_t> best_blocks(const SeasonBlocks& blocks, const std::string& site,
                                                   std::size_t which);

/// Leaves of every site with blocks in `[blocks] chosen` only their ground; the rest becomes an excluded
/// piece, "outside the chosen blocks". Sites::chosen tells what was kept, and a NOTE says for what estimates
/// then speak. A STOP, and nothing is cut, where a name is of no site or holds no ground of its site.
void keep_chosen_blocks(const Plan& plan, const Crs& crs, const Grid& grid, Sites& sites, Flags& flags);

/// "QPR: estimates speak for its chosen blocks …, 5.1 of 42 ha (12.1 %), never for the site."
[[nodiscard]] std::string in_words(const ChosenGround& chosen);

}  // namespace swardline
