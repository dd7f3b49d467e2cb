// What the strata of a season keep. Private to the strata.
#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <vector>

#include "swardline/design/strata.hpp"
#include "swardline/design/strata_blocks.hpp"

namespace swardline {

/// A site's survey area within one block.
struct SitePiece {
  std::size_t site = 0;
  BlockPiece ground;
};

struct SeasonStrata::Inside {
  explicit Inside(const Layers& opened, const Model& compiled) : layers(opened), model(compiled) {}

  Layers layers;
  Model model;
  StrataRule rule;
  std::vector<SitePiece> pieces;             ///< survey areas by block, then site
  bool pins_apart = false;                   ///< pins fall on other ground than the survey areas:
  std::vector<SitePiece> pin_pieces;         ///< that ground, by block, then site
  double grown_by_m = 0;                     ///< how far pins may fall outside the survey area
  std::vector<std::size_t> head_of;          ///< by site: sites of one head share their strata
  std::vector<std::vector<int>> stratum_of;  ///< by head and ground code; -1: no such ground
  std::vector<Stratum> strata;
  std::vector<std::string> bands;               ///< beside strata
  std::vector<std::vector<std::size_t>> sites;  ///< beside strata
  std::vector<std::vector<BlockArea>> blocks;   ///< beside strata; of the ground on which pins fall

  [[nodiscard]] const Grid& grid() const { return layers.grid(); }
  [[nodiscard]] std::span<const SitePiece> pieces_in(const Block& block) const;
  [[nodiscard]] std::span<const SitePiece> pin_pieces_in(const Block& block) const;
  [[nodiscard]] bool site_has(std::size_t site, std::size_t stratum) const;

  /// A reader of its own for the caller while it is held.
  class Borrowed {
   public:
    explicit Borrowed(const Inside& inside);
    ~Borrowed();
    Borrowed(const Borrowed&) = delete;
    Borrowed& operator=(const Borrowed&) = delete;
    BlockReader* operator->() const { return reader_.get(); }
    BlockReader& operator*() const { return *reader_; }

   private:
    const Inside& inside_;
    std::unique_ptr<BlockReader> reader_;
  };

 private:
  mutable std::mutex guard_;
  mutable std::vector<std::unique_ptr<BlockReader>> idle_;
};

/// Cells of a layer of weights, on the sites, that hold no weight.
struct NotWeights {
  std::int64_t negative = 0, too_large = 0;
};

/// STOP flags, the first thrown: values that are no weights, and ground that is to get plots and has no
/// chance of one.
void check_weights(const Plan& plan, const std::vector<Stratum>& strata, const NotWeights& cells,
                   Flags& flags);

/// The part of a block's window that a piece can cover.
[[nodiscard]] Window window_of(const BlockPiece& piece, const Grid& grid);

}  // namespace swardline
