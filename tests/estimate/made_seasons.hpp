// Small seasons made by hand.
#pragma once

#include <string>
#include <vector>

#include "swardline/estimate/evaluated.hpp"

namespace swardline::testing {

/// A season with one species, plots of 20 m² in a row 30 m apart, all at one site and stratum until told
/// otherwise.
class MadeSeason {
 public:
  EvaluatedSeason season;

  explicit MadeSeason(int year, const std::string& species = "PTUB") {
    season.season = "Ambry Valley " + std::to_string(year);
    season.year = year;
    season.unit_area_m2 = 20;
    season.crs = "EPSG:26914";
    season.species = {species};
  }

  MadeSeason& site(const std::string& code, double survey_m2) {
    EvaluatedSite site;
    site.code = code;
    site.survey_m2 = survey_m2;
    season.sites.push_back(site);
    return *this;
  }

  MadeSeason& stratum(const std::string& id, const std::string& site, double area_m2) {
    EvaluatedStratum stratum;
    stratum.id = id;
    stratum.site = site;
    stratum.kind = "scored";
    stratum.area_m2 = stratum.frame_m2 = area_m2;
    season.strata.push_back(stratum);
    return *this;
  }

  EvaluatedUnit& plot(const std::string& name, double stems, double area_m2 = 20,
                      const std::string& stratum = {}) {
    EvaluatedUnit unit;
    unit.name = name;
    unit.stratum = stratum.empty() ? season.strata.front().id : stratum;
    for (const EvaluatedStratum& one : season.strata)
      if (one.id == unit.stratum) unit.site = one.site;
    unit.in_use = unit.evaluated = true;
    unit.fate = "counted";
    unit.plot_m2 = unit.inside_m2 = 20;
    unit.chance_per_m2 = 1e-3;
    unit.observer = "041";
    // A place that follows from the name alone.
    double place = 0;
    for (const char c : name) place = place * 31 + c;
    unit.east = 700000 + 30 * double(long(place) % 1000);
    unit.north = 4200000 + 30 * double(long(place) / 1000 % 1000);
    for (const std::string& species : season.species) {
      UnitCount count;
      if (&species == &season.species.front()) count = {stems, 0, area_m2, true};
      unit.counts.push_back(count);
    }
    season.units.push_back(unit);
    return season.units.back();
  }

  /// Drawn and due, but not counted.
  EvaluatedUnit& lost(const std::string& name, const std::string& fate) {
    EvaluatedUnit& unit = plot(name, 0);
    unit.evaluated = false;
    unit.fate = fate;
    unit.counts.assign(season.species.size(), UnitCount{});
    return unit;
  }
};

inline bool near(double value, double expected, double by) {
  return value - expected <= by && expected - value <= by;
}

inline bool holds(const std::string& text, const std::string& part) {
  return text.find(part) != std::string::npos;
}

}  // namespace swardline::testing
