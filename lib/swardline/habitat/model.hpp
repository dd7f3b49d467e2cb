// Every species' rule compiled against the opened layers, and the scorer of tiles.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/habitat/rule.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// Value of the score maps for cells without a score (excluded, or no score).
inline constexpr std::uint8_t no_percent = 255;

/// One category of a species' held-down map.
struct HeldDown {
  enum class Kind { nothing, factor, excluded, no_score } kind = Kind::nothing;
  std::string text;  ///< "canopy", "excluded: cover OW", "no data: moisture"
};

/// A species as scored: its code and the categories of its held-down map (index = map value).
struct ScoredSpecies {
  std::string code;
  std::vector<HeldDown> categories;
};

/// Compiled rules. Shared between threads.
class Model {
 public:
  /// Compiles every scored sheet. A factor whose layer could not be opened is a STOP.
  static Model compile(const Season& season, const Layers& layers, Flags& flags);
  [[nodiscard]] const std::vector<ScoredSpecies>& species() const;
  [[nodiscard]] const std::vector<std::size_t>& layers_needed() const;  ///< indices for LayerReader
  struct Inside;
  [[nodiscard]] const Inside& inside() const { return *inside_; }

 private:
  std::shared_ptr<const Inside> inside_;
};

/// Layers all scored sheets name, each once, in a stable order (for Layers::open).
[[nodiscard]] std::vector<std::string> layers_needed(const Season& season);

struct SpeciesTile {
  std::vector<std::uint8_t> percent;    ///< 0…100, or no_percent
  std::vector<std::uint8_t> held_down;  ///< index into ScoredSpecies::categories
  std::vector<float> score;             ///< only when asked for; NaN without a score
};

struct ScoreTile {
  Window window;
  std::vector<SpeciesTile> species;  ///< in Model::species() order
};

/// Scores tiles; one per thread (it keeps compiled tables and counts of unknown classes).
class Scorer {
 public:
  /// `wanted`: by species, whether a joint table is made for it; all where it is empty. What a tile holds of
  /// the others is not set.
  explicit Scorer(const Model& model, bool with_float = false, const std::vector<bool>& wanted = {});
  ~Scorer();
  Scorer(Scorer&&) noexcept;
  /// `tile` must come from a LayerReader over Model::layers_needed().
  void score(const Tile& tile, ScoreTile& out);
  /// Scores only the species whose scores do not follow from the bytes of layers by a table; what `out` holds
  /// of the others is not set. Counts unknown classes as score() does.
  void score_untabled(const Tile& tile, ScoreTile& out);
  /// Counts the tile's unknown classes, as score() does, without scoring it.
  void look_for_unknown(const Tile& tile);
  /// Cells met whose class value no legend names, by layer and value.
  struct UnknownClass {
    std::string layer;
    long long value;
    std::int64_t cells;
  };
  [[nodiscard]] std::vector<UnknownClass> unknown_classes() const;

 private:
  struct Inside;
  std::unique_ptr<Inside> inside_;
};

}  // namespace swardline
