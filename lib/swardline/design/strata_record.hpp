// Strata of record: which ground belongs to which stratum, kept from season to season, so that next year's
// scores move no plot to another stratum.
//
// A folder `record` in the season's folder; in it one folder for each version, `v1`, `v2` …, written whole
// and never changed: `strata.toml` (the rule, what it was made of, the strata), `strata.tif` (the kind of
// ground of every cell) and `survey.gpkg` (the survey areas it speaks of). A version either begins anew or
// adds ground that the survey areas have gained since.
#pragma once

#include <cstdint>
#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "swardline/design/site.hpp"
#include "swardline/design/stratum.hpp"
#include "swardline/grid/grid.hpp"

namespace swardline {

/// What a draw does with the strata of record.
struct RecordOptions {
  std::filesystem::path folder;  ///< the season's `record`; empty: none is read or kept
  bool anew = false;             ///< make new strata though there are some of record
  std::string today;             ///< day the version is dated with, "2027-03-02"
};

/// A survey area as a version knows it.
struct RecordedSite {
  std::string code;
  std::string head;  ///< what is the same for all its strata: "QPR", or "all|habitat=prairie"
  Geometry ground;   ///< what of the survey area this version speaks of
};

struct RecordedStratum {
  Stratum stratum;  ///< as it was made; no numbers of plots
  std::string head, band;
  std::vector<std::uint32_t> kinds;  ///< numbers in the map that belong to it
};

struct RecordedVersion {
  int version = 1;
  bool anew = true;  ///< begins anew, rather than adding ground
  std::string made;
  std::vector<std::string> changes;  ///< in words: hectares by stratum before and since, where it began anew
  std::vector<std::string> by;       ///< the rule: the plan's [strata]
  std::string score_of;
  std::vector<double> bands;
  double smallest_m2 = 0;
  std::string wkt;
  Grid grid;
  std::map<std::uint32_t, std::string> kinds;  ///< number in the map -> "score=50-75|cover=WM"
  std::map<std::string, std::string> inputs;   ///< "layers", "sheet PTUB" -> fingerprint
  std::vector<RecordedSite> sites;
  std::vector<RecordedStratum> strata;
  std::filesystem::path map;  ///< strata.tif
};

struct StrataRecord {
  std::vector<RecordedVersion> versions;  ///< in force, rising: the last that began anew and what came after
  int newest = 0;                         ///< 0: there is none
  [[nodiscard]] bool empty() const { return versions.empty(); }
};

/// Of the strata, the ground and the rule, whenever and wherever they were made. That of the version that
/// began anew tells one record from another.
[[nodiscard]] std::string fingerprint(const RecordedVersion& version);

/// Reads the versions in force. Throws InputError where the folder is damaged or was changed by hand.
[[nodiscard]] StrataRecord read_record(const std::filesystem::path& folder);

/// Removes what killed runs left half made. For who holds the season folder's lock.
void remove_half_made(const std::filesystem::path& folder);

/// A version being written. Nothing is seen of it until it is published, and nothing stays of it when it is
/// not.
class RecordDraft {
 public:
  RecordDraft(const std::filesystem::path& folder, int version);
  ~RecordDraft();
  RecordDraft(const RecordDraft&) = delete;
  RecordDraft& operator=(const RecordDraft&) = delete;
  /// Where the map is to be written before `finish`.
  [[nodiscard]] std::filesystem::path map() const;
  /// Writes the rest beside the map. Throws IoError.
  void finish(const RecordedVersion& version);
  /// Where the map is from then on, until the version is published.
  [[nodiscard]] std::filesystem::path finished_map() const;
  /// Puts the finished version in its place.
  void publish();
  [[nodiscard]] const std::filesystem::path& place() const { return place_; }

 private:
  std::filesystem::path place_;
  bool published_ = false;
};

}  // namespace swardline
