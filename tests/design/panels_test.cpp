// Panels: who is due when, in whole numbers, and what the draw makes of them.
#include "swardline/design/panels.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <numeric>
#include <set>

#include "small_season.hpp"

namespace panels_test {

using namespace swardline;

namespace {

PanelsSpec spec_of(const std::string& pattern, int year = 2027, std::optional<int> years = {}) {
  PanelsSpec spec;
  std::string problem;
  spec.given = true;
  spec.pattern = pattern;
  spec.parts = read_pattern(pattern, problem);
  REQUIRE_MESSAGE(!spec.parts.empty(), problem);
  spec.start = 2027;
  spec.year = year;
  spec.years = years;
  return spec;
}

/// Panels due in each year from 2027, by name.
std::vector<std::vector<std::string>> due_by_year(const PanelScheme& scheme, int years) {
  std::vector<std::vector<std::string>> all;
  for (int year = 2027; year < 2027 + years; ++year) {
    all.emplace_back();
    for (std::size_t p = 0; p < scheme.panels().size(); ++p) {
      if (scheme.due(p, year)) all.back().push_back(scheme.panels()[p].name);
    }
  }
  return all;
}

int due_plots(const PanelScheme& scheme, const std::vector<int>& sizes, int year) {
  int sum = 0;
  for (std::size_t p = 0; p < sizes.size(); ++p) sum += scheme.due(p, year) ? sizes[p] : 0;
  return sum;
}

}  // namespace

// The patterns and what they mean: McDonald 2003, Environmental Monitoring and Assessment 85:277-292, from
// memory; the tables below are written out by hand from the definition "seasons on - seasons off".
TEST_CASE("patterns give the panels due in each season") {
  using Rows = std::vector<std::vector<std::string>>;
  CHECK(due_by_year(PanelScheme(spec_of("[1-0]")), 3) == Rows{{"A"}, {"A"}, {"A"}});
  CHECK(due_by_year(PanelScheme(spec_of("[1-3]")), 6) ==
        Rows{{"A1"}, {"A2"}, {"A3"}, {"A4"}, {"A1"}, {"A2"}});
  CHECK(due_by_year(PanelScheme(spec_of("[1-0,1-2]")), 4) ==
        Rows{{"A", "B1"}, {"A", "B2"}, {"A", "B3"}, {"A", "B1"}});
  CHECK(due_by_year(PanelScheme(spec_of("[2-1]")), 4) ==
        Rows{{"A1", "A3"}, {"A1", "A2"}, {"A2", "A3"}, {"A1", "A3"}});
  CHECK(due_by_year(PanelScheme(spec_of("[1-n]", 2027, 3)), 3) == Rows{{"A1"}, {"A2"}, {"A3"}});
  // Two seasons each: the first would have begun in 2026.
  CHECK(due_by_year(PanelScheme(spec_of("[2-n]", 2027, 3)), 3) ==
        Rows{{"A1", "A2"}, {"A2", "A3"}, {"A3", "A4"}});
  CHECK(due_by_year(PanelScheme(spec_of("[1-1-1-2]")), 5) ==
        Rows{{"A1", "A4"}, {"A2", "A5"}, {"A1", "A3"}, {"A2", "A4"}, {"A3", "A5"}});
}

TEST_CASE("every season of a pattern has as many plots as asked, or one part's rounding more") {
  for (const char* pattern :
       {"[1-0]", "[1-3]", "[2-3]", "[3-2]", "[1-0,1-3]", "[1-0,2-3,1-1]", "[1-2-1-1]"}) {
    const PanelScheme scheme(spec_of(pattern));
    for (int n = 1; n < 40; ++n) {
      const std::vector<int> sizes = scheme.sizes(n);
      const int parts = int(scheme.spec().parts.size());
      double mean = 0;
      int cycle = 1;
      for (const RevisitPart& part : scheme.spec().parts) cycle = std::lcm(cycle, part.cycle());
      for (int year = 2027; year < 2027 + cycle; ++year) {
        CHECK_MESSAGE(std::abs(due_plots(scheme, sizes, year) - n) <= 2 * parts, pattern, " ", n);
        mean += double(due_plots(scheme, sizes, year)) / cycle;
      }
      CHECK_MESSAGE(mean >= n - 1e-9, pattern, " ", n);
      CHECK_MESSAGE(mean < n + parts, pattern, " ", n);
    }
  }
  CHECK(PanelScheme(spec_of("[1-0,1-3]")).sizes(6) == std::vector<int>{3, 3, 3, 3, 3});
  CHECK(PanelScheme(spec_of("[1-0,1-3]")).sizes(7) == std::vector<int>{4, 3, 3, 3, 3});
}

TEST_CASE("ranks are given to panels in runs") {
  CHECK(panels_of_ranks({3, 2, 2}, 7) == std::vector<std::size_t>{0, 0, 0, 1, 1, 2, 2});
  CHECK(panels_of_ranks({3, 3, 3}, 6) == std::vector<std::size_t>{0, 0, 1, 1, 2, 2});
  CHECK(panels_of_ranks({0, 4}, 2) == std::vector<std::size_t>{1, 1});
  CHECK(panels_of_ranks({0, 0}, 2).size() == 2);
}

TEST_CASE("what is no pattern is told apart") {
  for (const char* text : {"[1-x]", "1-3", "[1]", "[0-3]", "[1-3-2]", "[1-0-2-1]", "[n-1]", "[1-3,]", "[]",
                           "[1--3]", "[-1-3]", "[1-99]"}) {
    std::string problem;
    CHECK_MESSAGE(read_pattern(text, problem).empty(), text);
    CHECK_FALSE(problem.empty());
  }
}

TEST_CASE("a season with panels draws all of them, and only those due are planned") {
  SmallSeason s;
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  s.season.plan.panels = spec_of("[1-0,1-3]", 2028);
  const SeasonDraw draw = s.draw();
  CHECK_FALSE(draw.panels_record.empty());
  REQUIRE(draw.certificate.panels.has_value());
  int strata = 0;
  for (const Stratum& stratum : draw.strata) {
    if (stratum.planned == 0) continue;
    ++strata;
    CHECK(stratum.planned == 6);
    CHECK(stratum.drawn == 6);
    CHECK(stratum.all_planned == 15);
    std::map<std::string, int> panels;
    double weight = 0;
    for (const Plot& plot : draw.plots) {
      if (plot.stratum != stratum.id || plot.spare) continue;
      ++panels[plot.panel];
      const bool due = plot.panel == "A" || plot.panel == "B2";
      CHECK(plot.status == (due ? "planned" : "resting"));
      CHECK(plot.panel_chance_per_m2 == doctest::Approx(3 / stratum.area_m2()).epsilon(1e-12));
      CHECK(plot.chance_per_m2 == doctest::Approx((due ? 6 : 3) / stratum.area_m2()).epsilon(1e-12));
      CHECK((plot.walk > 0) == due);
      weight += plot.weight_m2;
    }
    CHECK(panels == std::map<std::string, int>{{"A", 3}, {"B1", 3}, {"B2", 3}, {"B3", 3}, {"B4", 3}});
    CHECK(weight == doctest::Approx(stratum.area_m2()).epsilon(1e-12));
  }
  REQUIRE(strata > 2);
  const PanelTable& table = *draw.certificate.panels;
  REQUIRE(table.years.size() == 4);
  for (const PanelTable::Year& year : table.years) CHECK(year.plots == 6 * strata);
  CHECK(table.years[1].due == std::vector<std::string>{"A", "B2"});
  // Another season of the same pattern has the same plots; other ones are due.
  s.season.plan.panels.year = 2029;
  const SeasonDraw next = s.draw();
  REQUIRE(next.plots.size() == draw.plots.size());
  std::set<std::pair<double, double>> before, after;
  for (const Plot& plot : draw.plots) before.insert({plot.east, plot.north});
  for (const Plot& plot : next.plots) after.insert({plot.east, plot.north});
  CHECK(before == after);
}

}  // namespace panels_test
