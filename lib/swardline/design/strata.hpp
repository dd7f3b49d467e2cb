// The strata of a season on the ground: their areas, their frames, and the scores at any cell.
#pragma once

#include <cstddef>
#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "swardline/base/progress.hpp"
#include "swardline/design/frame.hpp"
#include "swardline/design/site.hpp"
#include "swardline/design/site_cells.hpp"
#include "swardline/design/strata_record.hpp"
#include "swardline/design/stratum.hpp"
#include "swardline/habitat/model.hpp"

namespace swardline {

/// Layers the draw needs, each once, in a stable order: those of the scored sheets, the class
/// layers that `[strata] by` names, and the elevation where transects are laid (for Layers::open).
[[nodiscard]] std::vector<std::string> layers_for_draw(const Season& season);

/// A STOP where `[strata] by` cannot be read. The layers must be those of layers_for_draw.
void check_strata(const Season& season, const Sites& sites, const Layers& layers, const Model& model,
                  Flags& flags);

/// What stands against drawing by the strata of record in `folder`: a damaged folder, another [strata] rule
/// or coordinate system (STOP), other cells (ASK or NOTE). Nothing where there is no record.
void check_record(const Plan& plan, const std::filesystem::path& folder, const Grid& grid, Flags& flags);

/// What the rules say of one cell.
struct CellReading {
  std::optional<int> score_percent;  ///< of the strata's `score_of`; none where nothing is scored
  std::string held_down_by;  ///< of the species that gave the score; why there is none, where there is none
  std::map<std::string, int> percent;  ///< by species code, where scored
  /// By species code: what holds its score down ("canopy"; empty for a full score), or why it has none
  /// ("excluded: cover OW", "no data: moisture").
  std::map<std::string, std::string> held_down;
};

/// Strata that cover every site's survey area, each piece once; linear sites, which are one stratum each, are
/// left out. Made in one pass over the blocks that
/// meet a survey area; keeps areas by block and the sites cut along blocks, never cells. May be
/// shared between threads.
class SeasonStrata {
 public:
  /// Throws InputError where `[strata] by` cannot be read, or a class layer holds values no legend names
  /// (STOP flags for each, the first thrown). What was joined becomes a NOTE. The
  /// result does not depend on `threads`. `map_cells`: see DrawOptions. Where there are strata of record,
  /// they hold (NOTE with the hectares whose score is another now); ground that is new since gets strata of
  /// its own version.
  static SeasonStrata make(const Season& season, const Sites& sites, const Layers& layers, const Model& model,
                           int threads, const Progress& progress, Flags& flags,
                           const RecordOptions& record = {}, int map_cells = 0);
  ~SeasonStrata();
  SeasonStrata(SeasonStrata&&) noexcept;

  [[nodiscard]] const std::vector<Stratum>& strata() const;  ///< by id; no numbers of plots yet
  /// Band of the scored stratum as the plan's spread names it ("0.50-0.75"); empty where the score makes no
  /// strata.
  [[nodiscard]] const std::string& band(std::size_t stratum) const;
  /// Indices into Sites::sites of the sites with ground in the stratum.
  [[nodiscard]] const std::vector<std::size_t>& sites_of(std::size_t stratum) const;
  /// Of those, the one on whose ground for pins the point falls, or whose ground is nearest to it.
  [[nodiscard]] std::size_t site_at(std::size_t stratum, std::int64_t col, std::int64_t row, Point at) const;
  /// The cell whose ground and scores stand for a pin's: its own, or, for a pin of `site` outside the survey
  /// area, the nearest with survey ground.
  [[nodiscard]] std::pair<std::int64_t, std::int64_t> scored_cell(std::size_t site, std::int64_t col,
                                                                  std::int64_t row) const;
  /// The ground on which a stratum's pins fall. Cells are read again when asked for. One thread at a time;
  /// must not outlive this object.
  [[nodiscard]] std::unique_ptr<Frame> frame(std::size_t stratum) const;
  /// Scores at cells, in the order asked. Of the layers' files, only the blocks they lie in are read.
  [[nodiscard]] std::vector<CellReading> readings(
      const std::vector<std::pair<std::int64_t, std::int64_t>>& cells, int threads = 1) const;

  /// Where a point lies: its stratum, its site and its cell; none outside every survey area (by more than 2
  /// mm).
  struct PlaceFound {
    std::size_t stratum = 0, site = 0;
    std::int64_t col = 0, row = 0;
  };
  [[nodiscard]] std::vector<std::optional<PlaceFound>> places(const std::vector<Point>& points) const;
  /// What this draw adds to the record; publishing it is the caller's, once the draw is whole. Null when
  /// nothing is added.
  [[nodiscard]] std::shared_ptr<RecordDraft> draft() const;
  /// Fingerprint of the record, with what is added.
  [[nodiscard]] const std::string& record_fingerprint() const;
  /// The record in words: which versions hold, what is new, what a change of strata moved.
  [[nodiscard]] const std::vector<std::string>& record_words() const;

  /// Thinned cells of the sites, beside Sites::sites; see SeasonDraw.
  [[nodiscard]] const std::vector<SiteCells>& site_cells() const;

  struct Inside;

 private:
  explicit SeasonStrata(std::unique_ptr<Inside> inside);
  std::unique_ptr<Inside> inside_;
};

}  // namespace swardline
