// The sites' ground in blocks of the grid, and which of these blocks are looked at. Private to this folder.
#pragma once

#include <vector>

#include "swardline/check/check_season.hpp"
#include "swardline/design/site.hpp"
#include "swardline/grid/layers.hpp"

namespace swardline::check_parts {

/// Survey areas cut along the blocks they meet, once for all passes.
class SiteGround {
 public:
  struct Piece {
    std::size_t site = 0;  ///< index into Sites::sites
    BlockPiece ground;
  };
  struct Looked {
    Block block;
    std::vector<Piece> pieces;  ///< by site
  };

  SiteGround() = default;
  /// With `at_sites` a fixed stride over the blocks keeps what is read bounded, whatever the layers' size.
  SiteGround(const Sites& sites, const Layers& layers, CellsChecked cells, int threads);

  /// What is looked at, row by row from the north.
  [[nodiscard]] const std::vector<Looked>& blocks() const { return blocks_; }
  /// True where the layers are to be read whole, not only in these blocks.
  [[nodiscard]] bool whole_layers() const { return whole_layers_; }
  /// False where blocks of this site were passed over: then no share of it is known.
  [[nodiscard]] bool all_of(std::size_t site) const { return all_of_[site]; }
  [[nodiscard]] bool all_of_every_site() const;
  /// Of the blocks, those with ground of a site all of which is looked at: only of such sites are shares
  /// known.
  [[nodiscard]] std::vector<const Looked*> blocks_of_whole_sites() const;

 private:
  void thin(const Layers& layers);

  std::vector<Looked> blocks_;
  std::vector<bool> all_of_;
  bool whole_layers_ = true;
};

}  // namespace swardline::check_parts
