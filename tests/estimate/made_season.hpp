// Small evaluated seasons made by hand.
#pragma once

#include <string>
#include <vector>

#include "swardline/estimate/estimates.hpp"

namespace swardline {

struct MadeSeason {
  EvaluatedSeason season;

  explicit MadeSeason(std::vector<std::string> species = {"PTUB"}) {
    season.season = "made";
    season.year = 2027;
    season.unit_area_m2 = 20;
    season.species = std::move(species);
  }

  void site(const std::string& code, double ha, std::map<std::string, std::string> attributes = {}) {
    season.sites.push_back({code, code, ha * 1e4, 1, std::move(attributes)});
  }

  void stratum(const std::string& id, const std::string& site, double ha, int planned,
               const std::string& kind = "scored") {
    season.strata.push_back({id, site, kind, ha * 1e4, ha * 1e4, 1, planned});
  }

  /// A counted plot of the last stratum's site; stems of the first species.
  EvaluatedUnit& plot(double stems, double area_m2 = 20) {
    EvaluatedUnit& unit = drawn();
    unit.evaluated = true;
    unit.fate = "counted";
    unit.counts.assign(season.species.size(), {});
    unit.counts.front() = {stems, 0, area_m2, true};
    return unit;
  }
  void plots(const std::vector<double>& stems, double area_m2 = 20) {
    for (const double y : stems) plot(y, area_m2);
  }

  EvaluatedUnit& missing(const std::string& fate) {
    EvaluatedUnit& unit = drawn();
    unit.fate = fate;
    return unit;
  }

  /// Quill Prairie of the demo valley, a high and a low stratum.
  static MadeSeason quill_prairie() {
    MadeSeason made;
    made.site("QPR", 42);
    made.stratum("QPR|score=50-75|v1", "QPR", 12, 6);
    made.plots({0, 14, 3});
    made.plot(0, 12);
    made.plots({22, 9});
    made.stratum("QPR|score=0-25|v1", "QPR", 30, 5);
    made.plots({0, 0, 2, 0, 0});
    return made;
  }

 private:
  EvaluatedUnit& drawn() {
    EvaluatedUnit unit;
    const auto i = double(season.units.size());
    unit.name = "P" + std::to_string(season.units.size());
    unit.site = season.strata.back().site;
    unit.stratum = season.strata.back().id;
    unit.in_use = true;
    unit.east = 500'000 + 100 * i;
    unit.north = 4'200'000 + 37 * double(int(i) % 7);
    unit.plot_m2 = unit.inside_m2 = 20;
    season.units.push_back(unit);
    return season.units.back();
  }
};

}  // namespace swardline
