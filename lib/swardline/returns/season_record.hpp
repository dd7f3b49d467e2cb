// What is on record of how a season went: visits, flags and corrections by number, files taken in, runs.
// `store/read_season_record.hpp` reads it; pages show it.
#pragma once

#include <string>
#include <vector>

namespace swardline {

/// What one observer did at one plot on one day, over all sheets.
struct VisitOnRecord {
  std::string plot, day;                  ///< day "2027-05-28"; empty where none was written
  std::string observer, second_observer;  ///< identifications
  int minutes = -1;                       ///< from start to finish; -1 where they do not tell
  [[nodiscard]] int people() const { return second_observer.empty() || second_observer == observer ? 1 : 2; }
};

/// Flags of one check and severity, by state.
struct FlagsOnRecord {
  int number = 0;  ///< of the check
  std::string check, severity;
  int open = 0, confirmed = 0, listed = 0;
};

struct FileOnRecord {
  std::string original, fingerprint, received;
  long long rows = 0;
};

struct RunOnRecord {
  std::string command, version, inputs, seed, started, finished;
};

struct SeasonOnRecord {
  std::vector<VisitOnRecord> visits;
  std::vector<FlagsOnRecord> flags;  ///< STOP, ASK, NOTE; each by check
  int corrections = 0, corrected_by = 0;
  std::string first_correction, last_correction;  ///< days
  std::vector<FileOnRecord> files;
  std::vector<RunOnRecord> runs;  ///< in their order
};

}  // namespace swardline
