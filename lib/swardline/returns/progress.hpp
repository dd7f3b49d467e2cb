// How far the counting has come: what is outstanding, days left in each window, spares in use and why.
#pragma once

#include <map>
#include <string>
#include <vector>

#include "swardline/returns/observers.hpp"

namespace swardline {

struct SiteProgress {
  std::string site, team;                  ///< team empty: none is named in the plan
  int due = 0;                             ///< planned plots to be visited this season
  int counted = 0;                         ///< of them, with counts
  std::map<std::string, int> not_counted;  ///< of them, by status: "unsafe", "not countable (mown)"
  std::vector<std::string> outstanding;    ///< of them, nothing has come back
};

/// What is left of a species' window at a site where it is looked for.
struct WindowProgress {
  std::string site, team;
  std::size_t species = 0;  ///< index into Season::sheets
  Day from = no_day, until = no_day;
  int days_left = 0;  ///< today to the last day; negative: closed so many days ago
  bool open = false;
  bool closing = false;                  ///< open, and no more than ReturnsSpec::close_days left
  std::vector<std::string> outstanding;  ///< plots without a count or a status
};

struct SpareInUse {
  std::string plot, site, stratum;
  std::string why;  ///< "in place of QPR03S (unsafe)"
};

struct SeasonProgress {
  Day today = no_day;
  int due = 0, counted = 0, not_counted = 0, outstanding = 0;
  int stops = 0, asks = 0;                   ///< open flags
  std::vector<SiteProgress> sites;           ///< by code
  std::vector<WindowProgress> windows;       ///< with plots outstanding; those that close first stand first
  std::vector<SpareInUse> spares;            ///< by name
  std::vector<ObserverSummary> second_look;  ///< observers who need one
};
/// Windows are those of the season's year ([panels] year, else that of most rows, else that of
/// `Expected::today`), moved by ReturnsSpec::shift_days; without a today there are none.
[[nodiscard]] SeasonProgress progress_of(const Season& season, const Expected& expected,
                                         const Returns& returns, const std::vector<ReturnFlag>& flags,
                                         const ObserversReport& observers);
/// What a coordinator reads: what needs doing first stands first.
[[nodiscard]] std::vector<std::string> in_words(const SeasonProgress& progress, const Season& season);

}  // namespace swardline
