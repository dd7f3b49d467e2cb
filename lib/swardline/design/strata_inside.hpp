// What the strata of a season keep. Private to the strata.
#pragma once

#include <cstdint>
#include <memory>
#include <mutex>
#include <span>
#include <string>
#include <vector>

#include "swardline/design/ground_cache.hpp"
#include "swardline/design/site_cells.hpp"
#include "swardline/design/strata.hpp"
#include "swardline/design/strata_blocks.hpp"
#include "swardline/design/strata_record.hpp"

namespace swardline {

/// What of a site's survey area has its strata from one source: a version of the record, or the scores as
/// they are now.
struct Tract {
  std::size_t site = 0;
  std::size_t source = 0;  ///< see GroundReader
  std::string head;        ///< tracts of one source and head share their strata
  Geometry ground;
};

/// A tract within one block.
struct SitePiece {
  std::size_t site = 0;
  std::size_t source = 0;
  std::size_t head = 0;
  BlockPiece ground;
};

/// Tracts that share their strata.
struct Head {
  std::size_t source = 0;
  std::string text;
  std::size_t first_site = 0;
};

/// Takes the sites' thinned cells from blocks that are read for their strata.
class SiteCellsTaker {
 public:
  void lay_out(const SeasonStrata::Inside& inside, const Sites& sites, int most_cells);
  /// Several threads may take from different blocks.
  void take(std::size_t site, const Block& block, const BlockGround& ground, const StrataRule& rule);
  /// Beside the sites, without codes where none are taken; empty where none are taken at all.
  [[nodiscard]] const std::vector<SiteCells>& cells() const { return cells_; }

 private:
  std::vector<SiteCells> cells_;
};

struct SeasonStrata::Inside {
  explicit Inside(const Layers& opened, const Model& compiled) : layers(opened), model(compiled) {}

  Layers layers;
  Model model;
  StrataRule rule;
  StrataRecord record;
  std::vector<Tract> tracts;               ///< by site, then source
  std::vector<std::size_t> head_of_tract;  ///< beside tracts
  std::vector<SitePiece> pieces;           ///< by block, then source, then as the tracts
  bool pins_apart = false;                 ///< pins fall on other ground than the survey areas:
  std::vector<SitePiece> pin_pieces;       ///< that ground, in the same order
  double grown_by_m = 0;                   ///< how far pins may fall outside the survey area
  std::vector<Head> heads;
  std::vector<std::vector<int>> stratum_of;  ///< by head and ground code; -1: no such ground
  std::vector<Stratum> strata;
  std::vector<std::string> bands;               ///< beside strata
  std::vector<std::size_t> head_of;             ///< beside strata
  std::vector<std::vector<std::size_t>> sites;  ///< beside strata
  std::vector<std::vector<BlockArea>> blocks;   ///< beside strata; of the ground on which pins fall
  std::shared_ptr<RecordDraft> draft;           ///< the version that this draw adds to the record
  std::filesystem::path map_of_now;             ///< kinds of ground just written, where chances are equal
  SiteCellsTaker site_cells;
  std::string record_print;  ///< see SeasonStrata
  std::vector<std::string> record_words;

  [[nodiscard]] const Grid& grid() const { return layers.grid(); }
  [[nodiscard]] std::span<const SitePiece> pieces_in(const Block& block) const;
  [[nodiscard]] std::span<const SitePiece> pin_pieces_in(const Block& block) const;
  /// Whether ground of the piece may be in the stratum.
  [[nodiscard]] bool may_hold(const SitePiece& piece, std::size_t stratum) const;
  /// Source of ground that is stratified by the scores as they are now.
  [[nodiscard]] std::size_t now() const { return record.versions.size(); }
  /// How many numbers of ground a source tells apart.
  [[nodiscard]] std::size_t codes(std::size_t source) const;

  /// Kinds of ground of a block, and weights where chances are weighted; read where they are not kept.
  [[nodiscard]] std::shared_ptr<const BlockGround> ground_of(std::size_t source, const Block& block) const;
  /// The same for the cells on which pins of a head fall, and only those; where numbers of ground are few.
  [[nodiscard]] std::shared_ptr<const CoveredBlock> covered(std::size_t head, const Block& block) const;
  /// Keeps what was just read of a block.
  void keep(std::size_t source, const Block& block, std::shared_ptr<const BlockGround> ground) const;

  /// A reader of its own for the caller while it is held.
  class Borrowed {
   public:
    explicit Borrowed(const Inside& inside);
    ~Borrowed();
    Borrowed(const Borrowed&) = delete;
    Borrowed& operator=(const Borrowed&) = delete;
    GroundReader* operator->() const { return reader_.get(); }
    GroundReader& operator*() const { return *reader_; }

   private:
    const Inside& inside_;
    std::unique_ptr<GroundReader> reader_;
  };

 private:
  void take_covered(const std::vector<const SitePiece*>& pieces, const BlockGround& ground,
                    const Window& window, CoveredBlock& covered) const;

  mutable BlockCache<BlockGround> cache_{std::size_t{64} << 20};
  mutable BlockCache<CoveredBlock> covered_{std::size_t{16} << 20};
  mutable std::mutex guard_;
  mutable std::vector<std::unique_ptr<GroundReader>> idle_;
};

/// Cells of a layer of weights, on the sites, that hold no weight.
struct NotWeights {
  std::int64_t negative = 0, too_large = 0;
};

/// STOP flags, the first thrown: values that are no weights, and ground that is to get plots and has no
/// chance of one.
void check_weights(const Plan& plan, const std::vector<Stratum>& strata, const NotWeights& cells,
                   Flags& flags);

/// Steps of making the strata of a season.
namespace strata_parts {

/// Fills `inside.tracts`: by the record where it holds, the rest as ground that is new. Throws InputError
/// where the plan's rule is not the record's.
void lay_out_tracts(SeasonStrata::Inside& inside, const Plan& plan, const Sites& sites, Flags& flags);

/// The strata of a head made now, in `inside`; small ones joined.
void add_made(SeasonStrata::Inside& inside, std::size_t head, const Site& site, const StrataSpec& spec,
              const std::map<GroundCode, std::int64_t>& areas, Flags& flags);

/// The strata of a recorded head, in `inside`; areas are those of now.
void add_recorded(SeasonStrata::Inside& inside, std::size_t head,
                  const std::map<GroundCode, std::int64_t>& areas);

/// Whether the scores may differ from those the record was made of, by fingerprints.
[[nodiscard]] bool inputs_changed(const StrataRecord& record,
                                  const std::map<std::string, std::string>& inputs);
[[nodiscard]] std::map<std::string, std::string> score_inputs(const Season& season, const Layers& layers);

/// Ground whose kind is another now than in the record (mm²), over the ground that the record knows, and how
/// much ground that is.
struct ChangedGround {
  std::int64_t changed_mm2 = 0, known_mm2 = 0;
};
[[nodiscard]] ChangedGround changed_ground(const SeasonStrata::Inside& inside, const StrataRecord& record,
                                           int threads, const Progress& progress);

/// Hectares of every stratum before and now, in words; identities without their version.
[[nodiscard]] std::vector<std::string> changes_in_words(const StrataRecord& before,
                                                        const std::vector<Stratum>& now);

/// What the draw adds to the record: the strata made from the scores as they are now.
[[nodiscard]] RecordedVersion new_version(const SeasonStrata::Inside& inside, const Season& season,
                                          const Sites& sites, const RecordOptions& options);

}  // namespace strata_parts

}  // namespace swardline
