// A season without files, for tests of visits and cautions.
#pragma once

#include <string>
#include <utility>
#include <vector>

#include "swardline/field/visits.hpp"

namespace swardline::testing {

inline Sheet sheet_of(const std::string& code, const std::string& name, DayOfYear from, DayOfYear until) {
  Sheet sheet;
  sheet.code = code;
  sheet.name = name;
  sheet.window = {from, until};
  return sheet;
}

/// The species of the two stories, with their windows.
inline Season story_season() {
  Season season;
  season.sheets = {sheet_of("PALU", "Penstemon alluviorum", {5, 10}, {6, 20}),
                   sheet_of("PCAL", "Penstemon calycosus", {5, 10}, {6, 25}),
                   sheet_of("PDIG", "Penstemon digitalis", {5, 15}, {6, 30}),
                   sheet_of("PLAX", "Penstemon laxiflorus", {4, 15}, {5, 15}),
                   sheet_of("PPAL", "Penstemon pallidus", {4, 20}, {6, 5}),
                   sheet_of("PTEN", "Penstemon tenuis", {4, 10}, {5, 31}),
                   sheet_of("PTUB", "Penstemon tubaeflorus", {5, 20}, {6, 25})};
  season.plan.visits.place = {"plan.toml", 1, {}};
  return season;
}

inline SiteSpecies site_with(const Season& season, const std::string& code, const std::string& name,
                             const std::vector<std::string>& species, int plots = 8) {
  SiteSpecies site;
  site.site = code;
  site.name = name;
  site.plots = plots;
  for (const std::string& each : species)
    for (std::size_t i = 0; i < season.sheets.size(); ++i)
      if (season.sheets[i].code == each) site.likely.push_back({i, 1});
  return site;
}

inline std::string codes(const Season& season, const std::vector<std::size_t>& sheets) {
  std::string text;
  for (const std::size_t sheet : sheets) text += (text.empty() ? "" : " ") + season.sheets[sheet].code;
  return text;
}

/// "1 of 2: 15 Apr–15 May PLAX" for each visit, a line each.
inline std::string lines(const Season& season, const SeasonVisits& visits) {
  std::string text;
  for (const Visit& visit : visits.visits)
    text += visit.site + " " + std::to_string(visit.number) + " of " + std::to_string(visit.of) + ": " +
            short_range(visit.from, visit.until) + " " + codes(season, visit.species) + "\n";
  return text;
}

inline std::string conflicts(const SeasonVisits& visits) {
  std::string text;
  for (const std::string& each : visits.conflicts) text += each + "\n";
  return text;
}

/// Teams of two people for every site, who may record everything.
inline SeasonVisits planned(Season season, const std::vector<SiteSpecies>& sites, int year = 2027) {
  for (const SiteSpecies& site : sites) season.plan.teams["team " + site.site] = {site.site};
  for (const SiteSpecies& site : sites) season.plan.visits.people["team " + site.site] = 2;
  Flags flags;
  return plan_visits(season, sites, {}, year, flags);
}

}  // namespace swardline::testing
