// Who counted: how much, how others' counts compare, which look-alikes were mixed up, and who needs a second
// look. Observers are identifications only; no name of a person is read or kept.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/return_flags.hpp"

namespace swardline {

/// The table ReturnsSpec::observers, columns observer, team, passed, since: species codes in `passed` are set
/// apart by blanks, commas or semicolons, "all" stands for all of them; `since` is a day, 2027-05-03, or
/// empty. Empty where the plan names no table. Findings go to `flags` as STOP.
[[nodiscard]] std::map<std::string, ObserverRecord> read_observers(const Season& season, Flags& flags);

/// One answer in a training test: which species was shown, and what the observer called it. `named` may be
/// empty: no answer.
struct NameTest {
  std::string observer, shown, named;
};
/// The table ReturnsSpec::tests, columns observer, shown, named.
[[nodiscard]] std::vector<NameTest> read_name_tests(const Season& season, Flags& flags);

/// How often one species was taken for another.
struct NamedFor {
  std::string shown,
      named;      ///< species codes; from recounts: what this observer's partner found, and the observer
  int tests = 0;  ///< answers in training tests
  int plots = 0;  ///< recounted plots where one observer found `shown` only and the other `named` only
  bool operator==(const NamedFor&) const = default;
};

/// An observer's counts over others' on the same plots and species: ratio of sums, its variance as of a ratio
/// of plot totals (Cochran 1977, chapter 6), log-based limits with Student's t.
struct RecountRatio {
  int plots = 0;
  double ratio = 0;
  std::optional<double> low, high;  ///< none under three plots, or where the ratio is 0
};

struct ObserverSummary {
  std::string id, team;
  bool listed = true;                    ///< on the list of observers, or there is none
  int plots = 0, visits = 0;             ///< with counts
  int rows = 0, zeros = 0;               ///< counts, and those of none found
  int stops = 0, asks = 0;               ///< open flags on their rows
  int tests = 0, right = 0;              ///< answers, and right ones
  std::optional<RecountRatio> ratio;     ///< none where nobody counted the same plot
  std::vector<NamedFor> mixed_up;        ///< wrong answers, and recounts
  std::vector<std::string> second_look;  ///< why; empty: not needed
};

struct ObserversReport {
  double confidence = 0.90;
  std::vector<ObserverSummary> observers;  ///< by identification
  std::vector<NamedFor> names;  ///< shown × named over all observers, right answers too; by shown, then named
};
[[nodiscard]] ObserversReport report_of_observers(const Season& season, const Expected& expected,
                                                  const Returns& returns,
                                                  const std::vector<ReturnFlag>& flags,
                                                  const std::vector<NameTest>& tests);
/// A line or two for each observer, and the table of names mixed up.
[[nodiscard]] std::vector<std::string> in_words(const ObserversReport& report);

}  // namespace swardline
