// How a plan's `by` turns layers into strata, block by block. Private to the strata.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "swardline/design/strata.hpp"
#include "swardline/design/strata_map.hpp"
#include "swardline/design/strata_record.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/habitat/place_kinds.hpp"

namespace swardline {

/// Number of a kind of ground, the same for all sites: excluded, no score, or (classes, band).
using GroundCode = std::uint32_t;
inline constexpr GroundCode ground_excluded = 0;
inline constexpr GroundCode ground_no_score = 1;
inline constexpr GroundCode ground_first_scored = 2;

/// Kinds of ground of a block's cells, row by row: a byte each where numbers of ground are few, else wide.
/// And the cells' weights where chances are weighted.
struct BlockGround {
  std::vector<std::uint8_t> narrow;
  std::vector<GroundCode> wide;
  std::vector<std::int32_t> weights;
  /// The most numbers of ground there may be for a byte each; the last byte says that there is none.
  static constexpr std::size_t most_narrow = 254;

  [[nodiscard]] GroundCode code(std::size_t cell) const { return wide.empty() ? narrow[cell] : wide[cell]; }
  [[nodiscard]] std::size_t bytes() const {
    return narrow.size() + wide.size() * sizeof(GroundCode) + weights.size() * sizeof(std::int32_t);
  }
  /// Codes that were read wide; `kinds`: how many numbers of ground there are.
  void take(std::vector<GroundCode> codes, std::size_t kinds);
};

/// A class layer that makes strata.
struct ClassPart {
  std::string layer;
  std::size_t index = 0;                       ///< into Layers::infos()
  std::vector<std::string> codes;              ///< class codes, rising, each once
  std::map<long long, std::uint32_t> code_of;  ///< raster value -> index into codes
};

/// `[sample] weight`, resolved: chances within a stratum are in proportion to whole numbers.
struct WeightRule {
  enum class Of { nothing, score, layer } of = Of::nothing;
  std::size_t layer = 0;   ///< index into Layers::infos()
  std::int32_t floor = 0;  ///< in steps; 0: none
  double step = 0.01;      ///< in the unit of the score (0 to 1) or the layer
};
/// Weights of cells before the floor: 0 where there is none. Below 0 stands what is no weight.
inline constexpr std::int32_t weight_negative = -1, weight_too_large = -2, largest_weight_steps = 1'000'000;

/// `[strata] by`, resolved against what the season has.
struct StrataRule {
  enum class From { attribute, score, classes };
  struct Part {
    From from;
    std::string name;
    std::size_t class_part = 0;
  };
  enum class ScoreOf { best, mean, one };

  bool by_site = false;
  bool by_score = false;
  std::vector<Part> parts;  ///< in the plan's order, "site" left out
  std::vector<ClassPart> classes;
  std::vector<double> bands;
  ScoreOf score_of = ScoreOf::best;
  std::size_t species = 0;     ///< for `one`
  std::string score_of_words;  ///< "the best species"
  WeightRule weight;
  int version = 1;  ///< of the strata made by it

  [[nodiscard]] std::uint32_t band_count() const { return by_score ? std::uint32_t(bands.size()) + 1 : 1; }
  [[nodiscard]] std::uint32_t class_combinations() const;
  [[nodiscard]] std::uint32_t codes() const {
    return ground_first_scored + class_combinations() * band_count();
  }
  /// "QPR|habitat=glade": what is the same for the whole site, without the site's other parts.
  [[nodiscard]] std::string head(const Site& site) const;
  /// Identity of the stratum of this ground at a site.
  [[nodiscard]] std::string id(const Site& site, GroundCode code) const;
  /// "score=50-75|cover=WM", "excluded", "no-score": the identity without the site's parts.
  [[nodiscard]] std::string kind(GroundCode code) const;
  [[nodiscard]] std::string words(const Site& site, GroundCode code) const;
  /// Class code of part `which` in this ground.
  [[nodiscard]] const std::string& class_code(std::size_t which, GroundCode code) const;
  [[nodiscard]] std::uint32_t band_of_ground(GroundCode code) const {
    return (code - ground_first_scored) % band_count();
  }
};

/// Throws InputError naming the plan's line.
[[nodiscard]] StrataRule resolve_strata(const Season& season, const Sites& sites, const Layers& layers,
                                        const Model& model);

/// Reads and scores blocks. One per thread.
class BlockReader {
 public:
  BlockReader(const Layers& layers, const Model& model, const StrataRule& rule);
  BlockReader(const BlockReader&) = delete;
  BlockReader& operator=(const BlockReader&) = delete;
  /// The ground of every cell of the window, row by row. And, where chances are weighted, the weight of every
  /// cell before the floor: ground that is excluded or has no score has weight 1 where the score is the
  /// weight, since chances are equal there.
  void ground(const Window& window, std::vector<GroundCode>& codes,
              std::vector<std::int32_t>* weights = nullptr);
  /// The same for a whole block, in bytes where that is enough; the quickest way there is.
  void ground(const Block& block, BlockGround& ground);
  /// Scores at cells, each read by itself; neighbours are best asked for together.
  void readings(const std::vector<std::pair<std::int64_t, std::int64_t>>& cells,
                std::vector<CellReading>& out);
  /// Cells met with class values that no legend names.
  [[nodiscard]] std::vector<Scorer::UnknownClass> unknown_classes() const;

 private:
  [[nodiscard]] GroundCode code_by_score(std::uint8_t percent, std::uint8_t excluded) const;
  void ground_by_score(const Window& window, std::vector<GroundCode>& codes);
  void learn(std::uint32_t kind);
  void add_classes(std::size_t part, std::vector<std::uint32_t>& combination,
                   std::vector<std::uint8_t>& none);
  void score_bands(std::vector<std::uint8_t>& percent, std::vector<std::uint8_t>& excluded) const;
  void layer_weights(const Window& window, std::vector<std::int32_t>& weights);

  const Layers& layers_;
  const Model& model_;
  const StrataRule& rule_;
  bool scores_;
  std::array<std::uint32_t, 256> band_{};  ///< by whole percent
  LayerReader reader_;
  Scorer scorer_;
  std::optional<PlaceKinds> kinds_;  ///< where it can be, ground is worked out once a kind of place
  Scorer kind_scorer_;               ///< meets examples, which are no cells to count
  std::vector<std::uint32_t> kind_;
  std::vector<GroundCode> code_of_kind_;  ///< by score; not_met before it is met
  std::vector<std::uint8_t> percent_of_kind_;
  std::optional<KindCodes> narrow_;  ///< code_of_kind_ where only the score makes strata and numbers are few
  std::vector<LayerReader> class_readers_;  ///< beside StrataRule::classes
  std::optional<LayerReader> weight_reader_;
  std::vector<std::map<long long, std::int64_t>> unknown_;  ///< beside StrataRule::classes
  std::vector<std::vector<std::uint8_t>> is_excluded_;      ///< by species and held-down category
  // Kept from block to block.
  std::vector<std::uint8_t> percent_, excluded_, none_;
  std::vector<std::uint32_t> combination_;
  Tile tile_;
  ScoreTile score_tile_;
  Tile class_tile_;
};

/// Ground and scores of blocks, the ground from the strata of record where there are some. One per thread.
class GroundReader {
 public:
  /// `map_of_now` holds the ground as it is scored now, of every block that has survey ground; or is empty.
  GroundReader(const Layers& layers, const Model& model, const StrataRule& rule, const StrataRecord& record,
               const std::filesystem::path& map_of_now = {});
  /// `source`: index into the record's versions, or their number for ground as it is scored now.
  /// Weights are those of now, whatever the source; see BlockReader.
  void ground(std::size_t source, const Window& window, std::vector<GroundCode>& codes,
              std::vector<std::int32_t>* weights = nullptr);
  /// The ground of a block that has survey ground of this source, the quickest way there is.
  void ground(std::size_t source, const Block& block, BlockGround& ground);
  [[nodiscard]] BlockReader& now() { return now_; }

 private:
  const Grid& grid_;
  const StrataRule& rule_;
  const StrataRecord& record_;
  BlockReader now_;
  std::filesystem::path map_of_now_;
  std::unique_ptr<GroundMapReader> drawn_;              ///< reads map_of_now_, opened when asked for
  std::vector<std::unique_ptr<GroundMapReader>> maps_;  ///< beside the versions, opened when asked for
  std::vector<GroundCode> codes_;
};

/// How many numbers of ground a version tells apart, and with it the number of ground it knows nothing of.
[[nodiscard]] GroundCode kinds_of(const RecordedVersion& version);

}  // namespace swardline
