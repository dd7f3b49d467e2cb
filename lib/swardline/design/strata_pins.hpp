// Where the pins of each stratum may fall, and which ground outside the survey area counts to which stratum.
// Private to the strata.
//
// With `grown-frame`, pins fall up to the plot's reach outside a site's survey area. A cell with survey
// ground of the site is of its own kind, the ground in it outside the survey area as well; a cell without any
// is of the kind of the nearest cell that has some (between centres; of equally near ones the northernmost,
// then the westernmost). So what a layer says of ground outside never matters, and no more than the blocks
// asked for, with a rim as wide as the reach, are read.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <utility>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/design/strata_inside.hpp"

namespace swardline {

/// A piece of ground of every tract cut along blocks; by block, then source, then as the tracts.
[[nodiscard]] std::vector<SitePiece> cut_tracts(const SeasonStrata::Inside& inside, int threads,
                                                const std::function<Geometry(const Tract&)>& ground);

/// [first, last) of the pieces of every block.
[[nodiscard]] std::vector<std::pair<std::size_t, std::size_t>> runs_of_blocks(
    const std::vector<SitePiece>& pieces);

/// The strata of one block's cells for pins.
class PinGround {
 public:
  PinGround(const SeasonStrata::Inside& inside, GroundReader& reader, std::size_t source, const Block& block);

  /// By cell of the block, where `cover` is above 0; -1: no stratum. The piece is of the source that was
  /// read. Good until asked for another piece.
  [[nodiscard]] const std::vector<int>& strata(const SitePiece& piece,
                                               const std::vector<std::int64_t>& cover);
  /// The cell whose kind a cell of the block has for pins of a site.
  [[nodiscard]] std::optional<std::pair<std::int64_t, std::int64_t>> source(std::size_t site,
                                                                            std::int64_t col,
                                                                            std::int64_t row);

 private:
  void find_survey_cells(std::size_t site);
  [[nodiscard]] std::optional<std::size_t> nearest_survey_cell(std::int64_t col, std::int64_t row) const;

  const SeasonStrata::Inside& inside_;
  Block block_;
  int rim_;        ///< cells read on every side of the block
  Window window_;  ///< the block with its rim
  std::vector<GroundCode> codes_;
  std::vector<int> strata_;
  std::vector<bool> survey_;  ///< cells of the window with survey ground of `site_`
  std::optional<std::size_t> site_;
};

/// The stratum of a pin of a piece in a cell; -1: none.
[[nodiscard]] int stratum_of_pin(const SeasonStrata::Inside& inside, const SitePiece& piece, std::int64_t col,
                                 std::int64_t row);

/// Cuts the ground for pins and gives every stratum its frame: blocks and frame_mm2. Throws InputError where
/// pins may fall outside a site whose strata come from two sources.
void place_pins(SeasonStrata::Inside& inside, const SampleSpec& sample, const Sites& sites, int threads,
                const Progress& progress);

/// Throws InputError where two sites that share strata lie so near to each other that one pin outside could
/// belong to both.
void check_grown_apart(const StrataRule& rule, const SampleSpec& sample, const Sites& sites);

}  // namespace swardline
