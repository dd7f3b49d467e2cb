// A season with counts, as its page is made from.
#pragma once

#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "../compare/made_season.hpp"
#include "swardline/report/season_page.hpp"

namespace report_test {

using namespace swardline;

/// The glade's season with its site, plots as drawn, two fates, a spare, a record and estimates.
struct Told {
  std::unique_ptr<compare_test::Made> made = compare_test::story_of_the_glade();
  Sites sites;
  std::vector<Plot> plots;
  std::vector<Transect> transects;
  SeasonOnRecord record;
  std::optional<Estimates> estimates;
  std::optional<Comparison> comparison;
  std::optional<SeasonChange> change;
  std::string certificate =
      R"json({"inputs": "09b3", "unit": "belt, 2 m × 10 m", "methods": ["drawn so (Somebody 1999)"],
          "allocation": ["shared out by area"], "edge": {"estimator": "counted twice", "losses": []},
          "strata": [{"stratum": "low", "rule": "score 0.00–0.50"}]})json";

  Told() {
    EvaluatedSeason& counted = made->counted;
    counted.sites = {{"CND", "Candlerock Glade", 240000, 1, {}}};
    EvaluatedUnit& mown = counted.units[20];
    mown.evaluated = false;
    mown.fate = "not countable (mown)";
    mown.why = "not countable (mown) on 2027-06-01";
    EvaluatedUnit& due = counted.units[21];
    due.evaluated = false;
    due.fate = due.why = "no return";
    EvaluatedUnit spare = counted.units[0];
    spare.name = "P951";
    spare.spare = true;
    spare.in_use = spare.evaluated = false;
    spare.fate = spare.why = "no return";
    counted.units.push_back(spare);
    Site site;
    site.code = "CND";
    site.name = "Candlerock Glade";
    site.drawn = site.as_drawn = site.survey = box_polygon({600000, 4199700, 600400, 4200000});
    site.drawn_m2 = site.survey_m2 = site.drawn.area();
    sites.sites.push_back(std::move(site));
    for (const EvaluatedUnit& unit : counted.units) {
      Plot plot;
      plot.name = unit.name;
      plot.site = unit.site;
      plot.stratum = unit.stratum;
      plot.lat = 37.123456;
      plot.lon = -91.654321;
      plot.score = 0.44;
      plot.held_down_by = "cover";
      plots.push_back(plot);
    }
    record.visits = {{"P001", "2027-06-01", "041", "052", 30}, {"P002", "2027-06-02", "041", "", -1}};
    record.flags = {{3, "unknown plot", "STOP", 2, 0, 0}, {17, "far from its plot", "ASK", 0, 4, 0}};
    record.corrections = 5;
    record.corrected_by = 2;
    record.first_correction = "2027-07-01";
    record.last_correction = "2027-08-02";
    record.files = {{"north.csv", "abcd", "2027-07-20", 61}};
    record.runs = {{"draw", "0.4.0", "09b3", "2027", "2027-03-02T10:00:00Z", "2027-03-02T10:00:09Z"}};
  }
  void tell() {
    estimates = estimate_season(made->counted, made->season.plan.estimate);
    comparison = made->compare();
  }
  [[nodiscard]] SeasonFacts facts() const {
    SeasonFacts all{made->season, sites,         made->layers, made->model, plots,
                    transects,    made->counted, record,       certificate};
    all.estimates = estimates ? &*estimates : nullptr;
    all.comparison = comparison ? &*comparison : nullptr;
    all.change = change ? &*change : nullptr;
    return all;
  }
  [[nodiscard]] std::string page() const { return season_page(facts()); }
};

}  // namespace report_test
