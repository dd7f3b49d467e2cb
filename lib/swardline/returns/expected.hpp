// What a season expects to come back: its plots, who may look for what, and what earlier seasons found.
#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <set>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "swardline/geo/crs.hpp"
#include "swardline/returns/return_row.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// A plot, segment or transect that teams were sent to, or may have gone to by mistake.
struct ExpectedPlot {
  std::string name, site, stratum;
  int order = 0;
  bool spare = false;
  bool due = true;  ///< neither resting nor outside the survey area
  bool transect = false;
  int stations = 0;            ///< frames along a transect; 0: none
  double east = 0, north = 0;  ///< plan coordinates of the pin or the start
  double lat = 0, lon = 0;     ///< WGS84
  double plot_m2 = 0;          ///< the whole plot, inside and out
  double inside_m2 = 0, twice_m2 = 0;
  double reach_m = 0;  ///< farthest point of the plot from its pin
  /// By Season::sheets: whole percents of the score; -1 excluded, -2 no score, -3 monitored, not scored.
  std::vector<std::int8_t> percent;
  /// By Season::sheets: what holds the score down or excludes the ground, into Expected::held_down; -1: not
  /// known. May be empty.
  std::vector<std::int16_t> held_down;
};

/// An observer, as the list of observers has them; never a name, only an identification.
struct ObserverRecord {
  std::string id, team;
  std::set<std::string> passed;  ///< species codes they may record
  std::optional<Day> since;      ///< of the test
};

/// The highest count of a species at a site in earlier seasons.
struct EarlierHighest {
  int stems = 0;
  int seasons = 0;
};

struct Expected {
  std::vector<ExpectedPlot> plots;  ///< by name
  std::optional<Crs> crs;           ///< the plan's
  EdgeRule edge = EdgeRule::walk_through;
  std::map<std::string, std::vector<std::size_t>> searched;  ///< by site: sheets looked for there
  std::map<std::string, ObserverRecord> observers;           ///< by id; empty: no list was given
  std::map<std::pair<std::string, std::string>, EarlierHighest> highest;  ///< by site and species code
  std::map<std::string, std::string> team_of_site;
  std::map<std::string, std::string> site_names;  ///< by code; where one is missing the code is said
  std::vector<std::string> held_down;             ///< "bedrock SST", "water", as maps and plots name it
  Day today = no_day;                             ///< for dates to come and days left
  [[nodiscard]] std::int32_t plot(std::string_view name) const;  ///< -1: none of this name
  std::unordered_map<std::string_view, std::int32_t> index;      ///< by name, into `plots`
};

}  // namespace swardline
