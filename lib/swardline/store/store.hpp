// The season's tables in one GeoPackage. Written in one transaction under a rollback
// journal and never renamed over: a killed run leaves the old tables or the new ones.
#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {

/// 2: plots that are not due (resting, outside the survey area) are in `plots` too, and `panels` is there.
/// 3: every species' score at plots and transects, `site_attributes`, and what came back (returned.hpp).
inline constexpr int store_schema_version = 3;

/// One row of the table `runs`.
struct RunRecord {
  std::string command, version, inputs, started, finished;  ///< times in UTC, ISO 8601
  std::uint64_t seed = 0;
};

/// Opens a season's store for one command, each time a table is read or written. A store left in
/// write-ahead mode by another program is taken back to a rollback journal when nobody
/// else has it open, and refused otherwise; refused too: one of a newer schema, one that is not a
/// store of this tool, a journal without its store (IoError with a remedy). Never overwritten.
class Store {
 public:
  /// Does not create the file until something is written.
  explicit Store(std::filesystem::path file);
  ~Store();

  /// Throws IoError, before any work is done, where the store could not be written later.
  void check_writable() const;

  /// Names already given in earlier seasons (table `names`, rows whose season is not `season`).
  [[nodiscard]] std::set<std::string> names_of_other_seasons(const std::string& season) const;

  /// Replaces `sites`, `site_species` (and for draw `strata`, `plots`, `panels`, `names` of this season,
  /// `certificate`), adds to `runs`; one transaction each.
  void write_scores(const Crs& crs, const Sites& sites, const ScoreResult& result,
                    const std::vector<double>& bands, const RunRecord& run);
  void write_draw(const Crs& crs, const Sites& sites, const SeasonDraw& draw, const std::string& season,
                  const RunRecord& run);

  /// The plots of the last draw; empty when there was none.
  [[nodiscard]] std::vector<Plot> read_plots() const;
  /// Planned and spare transects, with their frames; none where plots are the unit.
  [[nodiscard]] std::vector<Transect> read_transects() const;
  /// Lines placed by hand.
  [[nodiscard]] std::vector<ReferenceLine> read_reference_lines() const;
  /// Planned plots by stratum of the last draw; empty when there was none.
  [[nodiscard]] std::map<std::string, int> read_planned() const;
  /// Survey areas by site code in plan coordinates, with names.
  [[nodiscard]] std::vector<NamedArea> read_survey_areas() const;
  /// Throws InputError where the plots or the survey areas are of another coordinate system, season or seed
  /// than the plan's: what is made of both would not fit together on the ground.
  void check_drawn_for(const Plan& plan, const Crs& crs) const;
  /// The last draw's certificate as JSON.
  [[nodiscard]] std::optional<std::string> read_certificate() const;
  /// The input fingerprint of the last run of a command.
  [[nodiscard]] std::optional<std::string> inputs_of_last(const std::string& command) const;
  /// When the last run of a command ended: UTC, ISO 8601.
  [[nodiscard]] std::optional<std::string> finished_of_last(const std::string& command) const;

 private:
  std::filesystem::path file_;
};

/// The plots that the plan keeps from earlier seasons, in plan coordinates: from an earlier season's store
/// (with all names ever given, and the fingerprint of its strata of record) or from any point layer with the
/// columns name and chance_per_m2. Nothing where the plan keeps none. Throws InputError: a file that is no
/// such layer, a plot without a chance or name, the plan's own store.
[[nodiscard]] KeptPlots read_kept(const Plan& plan, const Crs& crs, Flags& flags);

/// OGC SLD 1.0 files for the maps (`score-float.sld` for Float32 maps) and tables, in the site maps'
/// colours, into `folder`. Returns what was written.
[[nodiscard]] std::vector<std::filesystem::path> write_styles(const std::filesystem::path& folder,
                                                              const std::vector<double>& bands);

}  // namespace swardline
