// Plots of earlier seasons: they stay, whatever happens round them.
#include <doctest/doctest.h>

#include <algorithm>

#include "small_season.hpp"

namespace kept_plots_test {

using namespace swardline;

namespace {

/// The draw of a first season, published and named, as plots to keep.
SeasonDraw first_season(SmallSeason& s) {
  s.keep_record();
  SeasonDraw draw = s.draw();
  if (draw.record) draw.record->publish();
  if (!draw.panels_record.empty()) write_whole(s.folder() / "record" / "panels.toml", draw.panels_record);
  int number = 0;
  for (Plot& plot : draw.plots) {
    plot.name = "P" + std::to_string(++number);
    plot.first_season = "2027";
  }
  s.kept = {draw.plots, {}, draw.certificate.record_fingerprint, {"plots-2027.gpkg", 0, {}}};
  s.season.plan.name = "Season 2028";
  return draw;
}

const Plot* named(const SeasonDraw& draw, const std::string& name) {
  const auto found =
      std::find_if(draw.plots.begin(), draw.plots.end(), [&](const Plot& p) { return p.name == name; });
  return found == draw.plots.end() ? nullptr : &*found;
}

void set_pattern(SmallSeason& s, const std::string& pattern, int year) {
  std::string problem;
  PanelsSpec& spec = s.season.plan.panels;
  spec.given = true;
  spec.pattern = pattern;
  spec.parts = read_pattern(pattern, problem);
  spec.start = 2027;
  spec.year = year;
  spec.place = {"plan.toml", 60, "[panels]"};
}

}  // namespace

TEST_CASE(
    "kept plots keep place, name, chance and bearing; only new ground is drawn, and lost ones get a status") {
  SmallSeason s;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  const SeasonDraw first = first_season(s);
  s.season.plan.seed = 2028;
  s.change_rule({{0, 0}, {50, 1}, {100, 1}});
  s.clear_sites();
  s.add_site("QPR", rectangle(760113, 4209907, 760713,
                              4210277));  // 200 m lost in the south, 200 m gained in the east
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  const SeasonDraw second = s.draw(2);
  int outside = 0;
  for (const Plot& old : first.plots) {
    const Plot* now = named(second, old.name);
    REQUIRE(now != nullptr);
    CHECK(now->east == old.east);
    CHECK(now->north == old.north);
    CHECK(now->stratum == old.stratum);
    CHECK(now->chance_per_m2 == old.chance_per_m2);
    CHECK(now->bearing_deg == old.bearing_deg);
    CHECK(now->first_season == "2027");
    const bool lost = old.site == "QPR" && old.north < 4209907;
    outside += lost ? 1 : 0;
    if (lost) {
      CHECK(now->status == "outside the survey area since Season 2028");
      CHECK(now->weight_m2 == 0);
      CHECK(now->walk == 0);
    } else {
      CHECK(now->status == old.status);
      if (!old.spare) CHECK(now->weight_m2 == doctest::Approx(old.weight_m2).epsilon(1e-12));
    }
  }
  CHECK(outside > 0);
  for (const Plot& plot : second.plots) {
    if (!plot.name.empty()) continue;
    CHECK(plot.stratum.ends_with("|v2"));
    CHECK(plot.east > 760513);
  }
  CHECK(second.plots.size() > first.plots.size());
  CHECK(says(second.certificate.kept.back(), "Outside the survey area now"));
  // A plot that comes back is planned again.
  s.kept.plots = second.plots;
  std::erase_if(s.kept.plots, [](const Plot& p) { return p.name.empty(); });
  s.clear_sites();
  s.add_site("QPR", rectangle(760113, 4209707, 760713, 4210277));
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  const SeasonDraw third = s.draw();
  for (const Plot& old : first.plots) CHECK(named(third, old.name)->status == old.status);
}

TEST_CASE("a plot under two names, a name for two plots, and plots of other strata are refused") {
  SmallSeason s;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  (void)first_season(s);
  const KeptPlots good = s.kept;
  Plot twin = good.plots[3];
  twin.name = "OLD7";
  twin.east += 0.4;
  s.kept.plots.push_back(twin);
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("OLD7 and P4 are 0.40 m apart"), InputError);
  s.season.plan.sample.keep_tolerance_m = 0.3;
  CHECK_NOTHROW((void)s.draw());
  s.kept.plots.back().name = "P4";
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("two plots called P4"), InputError);
  s.kept = good;
  s.kept.record = "0123456789abcdef";
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("Copy the folder `record`"), InputError);
}

TEST_CASE("kept panels go on in the next season: others are due, chances are those of the panels") {
  SmallSeason s;
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  set_pattern(s, "[1-0,1-3]", 2027);
  const SeasonDraw first = first_season(s);
  s.season.plan.seed = 2028;
  s.season.plan.panels.year = 2028;
  const SeasonDraw second = s.draw();
  REQUIRE(second.plots.size() == first.plots.size());
  for (const Plot& old : first.plots) {
    const Plot* now = named(second, old.name);
    REQUIRE(now != nullptr);
    CHECK(now->panel == old.panel);
    CHECK(now->panel_chance_per_m2 == doctest::Approx(old.panel_chance_per_m2).epsilon(1e-12));
    const bool due = now->panel == "A" || now->panel == "B2";
    CHECK(now->due() == due);
    CHECK(now->chance_per_m2 == doctest::Approx((due ? 2 : 1) * old.panel_chance_per_m2).epsilon(1e-12));
  }
}

TEST_CASE("panels are not changed mid-cycle unless it is asked for, and what is lost is said") {
  SmallSeason s;
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  set_pattern(s, "[1-0,1-3]", 2027);
  (void)first_season(s);
  set_pattern(s, "[1-0,1-1]", 2028);
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("B1 (6 plots, counted in 2027, due again in 2031)"),
                       InputError);
  set_pattern(s, "[1-0,1-3]", 2028);
  s.season.plan.sample.each = 8;
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("each = 6, and the plan says each = 8 now"),
                       InputError);
  s.season.plan.sample.each = 6;
  const KeptPlots kept = s.kept;
  s.kept = {};
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("no plots are kept"), InputError);
  s.kept = kept;
  s.season.plan.panels.given = false;
  CHECK_THROWS_WITH_AS((void)s.draw(), doctest::Contains("the plan has no [panels]"), InputError);
  set_pattern(s, "[1-0,1-1]", 2028);
  s.season.plan.panels.change = true;
  const SeasonDraw changed = s.draw();
  CHECK(flags_of(s.flags, "panels changed mid-cycle").size() == 1);
  CHECK(says(changed.panels_record, "[1-0,1-1]"));
  std::map<std::string, int> panels;
  for (const Plot& plot : changed.plots) panels[plot.panel] += plot.spare ? 0 : 1;
  CHECK(panels.size() == 3);
  // Chances over all panels stay those of the plots.
  for (const Plot& plot : changed.plots) {
    if (plot.status != "planned") continue;
    const Plot& old = *std::find_if(kept.plots.begin(), kept.plots.end(),
                                    [&](const Plot& p) { return p.name == plot.name; });
    CHECK(plot.panel_chance_per_m2 > 0);
    CHECK(plot.chance_per_m2 <= 5 * old.panel_chance_per_m2 * (1 + 1e-12));
  }
}

TEST_CASE("too few plots for a pattern leave panels empty, and it is said") {
  SmallSeason s;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  set_pattern(s, "[1-0,1-3]", 2027);
  s.season.plan.sample.each = 1;
  const auto said = [&] {
    int lines = 0;
    for (const std::string& line : s.draw().certificate.shortfalls)
      lines += says(line, "are too few for the pattern: panels ") ? 1 : 0;
    return lines;
  };
  CHECK(said() > 0);
  s.season.plan.sample.each = 6;
  CHECK(said() == 0);
}

}  // namespace kept_plots_test
