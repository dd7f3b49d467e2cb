#include "swardline/design/blocks.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "small_season.hpp"
#include "swardline/design/walking_ways.hpp"

namespace blocks_test {

using namespace swardline;

namespace {

/// A site over a tile edge, partly excluded cover, partly without moisture, with a hole; and one beside it.
void add_sites(SmallSeason& small) {
  small.add_site("QPR", rectangle(760233.5, 4209507.25, 760817, 4210411));
  small.add_site("SKP", rectangle(761003, 4209607, 761203, 4209807));
  small.exclude("water", rectangle(760450, 4210300, 760500, 4210350));
}

SeasonBlocks rank(SmallSeason& small, double side_m, int threads = 1) {
  (void)small.strata();
  return rank_blocks(small.season, *small.sites, *small.layers, *small.model, small.access, side_m, threads,
                     {});
}

const SiteBlock& named(const SeasonBlocks& blocks, const std::string& name) {
  for (const SiteBlock& block : blocks.blocks)
    if (block.name == name) return block;
  throw Defect("no block " + name);
}

/// Sums of a block's ground cell by cell, each clipped by GEOS.
struct Sums {
  double ground = 0, scored = 0, percent = 0, excluded = 0, no_score = 0;
};
Sums cell_by_cell(const SmallSeason& small, const Geometry& survey, const Box& box,
                  const std::string& species) {
  Sums sums;
  for (double x = box.x0; x < box.x1 - 1; x += SmallSeason::cell)
    for (double y = box.y0; y < box.y1 - 1; y += SmallSeason::cell) {
      const Geometry cell = box_polygon({x, y, x + SmallSeason::cell, y + SmallSeason::cell});
      const double area = intersection(survey, cell).area();
      const Point middle{x + SmallSeason::cell / 2, y + SmallSeason::cell / 2};
      const int moisture = SmallSeason::moisture_at(middle.x, middle.y);
      sums.ground += area;
      if (SmallSeason::cover_at(middle.x, middle.y) == 3) {
        sums.excluded += area;
      } else if (moisture == 255) {
        sums.no_score += area;
      } else {
        sums.scored += area;
        sums.percent += area * (species == "PTUB" ? moisture : 40);
      }
    }
  (void)small;
  return sums;
}

std::vector<std::string> all_of(const SeasonBlocks& blocks) {
  std::vector<std::string> lines;
  for (const SiteBlock& b : blocks.blocks)
    for (const BlockSpecies& s : b.species)
      lines.push_back(b.name + " " + s.species + " " + std::to_string(s.rank) + " " + std::to_string(s.mean) +
                      " " + std::to_string(s.scored_m2) + " " + s.held_down_by + " " +
                      std::to_string(s.held_down_share));
  return lines;
}

}  // namespace

TEST_CASE("a block's number is its south-west corner in sides, whatever the extent") {
  const Grid grid{0, 0, 10};
  const BlockGrid blocks(grid, 100, {});
  const BlockNumber at = blocks.of_cell(grid.col_of(760123), grid.row_of(4200377));
  CHECK(at == BlockNumber{7601, 42003});
  CHECK(blocks.name("QPR", at) == "QPR 7601-2003");
  const Box box = blocks.box(at);
  CHECK(box.x0 == 760100);
  CHECK(box.y0 == 4200300);
  CHECK(box.x1 == 760200);
  CHECK(box.y1 == 4200400);
  CHECK(blocks.of_cell(grid.col_of(-1), grid.row_of(-1)) == BlockNumber{-1, -1});
  CHECK(blocks.name("X", {-1, -1}) == "X 9999-9999");
  CHECK(BlockGrid({5, 5, 10}, 20, {}).box({3, 4}).x0 == 65);

  SmallSeason narrow, wide;
  add_sites(narrow);
  add_sites(wide);
  wide.make_layers(37);
  const SeasonBlocks a = rank(narrow, 100), b = rank(wide, 100);
  CHECK(all_of(a) == all_of(b));
}

TEST_CASE("what a block holds is what its cells hold") {
  SmallSeason small;
  add_sites(small);
  for (const double side : {50.0, 130.0}) {
    const SeasonBlocks blocks = rank(small, side);
    const BlockGrid grid(small.layers->grid(), side, {});
    std::map<std::string, double> by_site;
    bool met_excluded = false, met_no_score = false;
    for (const SiteBlock& block : blocks.blocks) {
      const Geometry& survey = small.site(block.site).survey;
      by_site[block.site] += block.ground_m2;
      CHECK(block.ground.area() == doctest::Approx(block.ground_m2).epsilon(1e-6));
      for (const BlockSpecies& row : block.species) {
        const Sums sums = cell_by_cell(small, survey, grid.box(block.number), row.species);
        CHECK(block.ground_m2 == doctest::Approx(sums.ground).epsilon(1e-6));
        CHECK(row.scored_m2 == doctest::Approx(sums.scored).epsilon(1e-6));
        CHECK(row.excluded_m2 == doctest::Approx(sums.excluded).epsilon(1e-6));
        CHECK(row.no_score_m2 == doctest::Approx(sums.no_score).epsilon(1e-6));
        if (sums.scored > 0.001)
          CHECK(row.mean == doctest::Approx(sums.percent / sums.scored / 100).epsilon(1e-6));
        CHECK((row.rank > 0) == (sums.scored > 0));
        met_excluded = met_excluded || sums.excluded > 0;
        met_no_score = met_no_score || sums.no_score > 0;
      }
    }
    CHECK(met_excluded);
    CHECK(met_no_score);
    for (const auto& [site, area] : by_site)
      CHECK(area == doctest::Approx(small.site(site).survey_m2).epsilon(1e-9));
  }
}

TEST_CASE("blocks rank by score times scored ground within their site") {
  SmallSeason small;
  add_sites(small);
  const SeasonBlocks blocks = rank(small, 50);
  for (std::size_t s = 0; s < blocks.blocks.front().species.size(); ++s)
    for (const char* site : {"QPR", "SKP"}) {
      const std::vector<std::size_t> best = best_blocks(blocks, site, s);
      REQUIRE(best.size() > 3);
      for (std::size_t k = 0; k < best.size(); ++k) {
        const BlockSpecies& row = blocks.blocks[best[k]].species[s];
        CHECK(row.rank == int(k) + 1);
        if (k == 0) continue;
        const BlockSpecies& before = blocks.blocks[best[k - 1]].species[s];
        CHECK(before.mean * before.scored_m2 >= row.mean * row.scored_m2 - 1e-6);
      }
    }
}

TEST_CASE("the reason is the factor that most of the loss is due to") {
  SmallSeason small;
  small.add_site("QPR", rectangle(760600, 4210200, 760800, 4210400));
  const SeasonBlocks blocks = rank(small, 100);
  const SiteBlock& pond = named(blocks, "QPR 7606-2103");
  CHECK(pond.species[1].species == "PTUB");
  CHECK(pond.species[1].rank == 0);
  CHECK(std::isnan(pond.species[1].mean));
  CHECK(pond.species[1].held_down_by == "excluded: cover OW");
  const SiteBlock& meadow = named(blocks, "QPR 7607-2103");
  CHECK(meadow.species[1].held_down_by == "moisture");
  CHECK(meadow.species[1].held_down_share == doctest::Approx(1));
}

TEST_CASE("threads change nothing") {
  SmallSeason small;
  add_sites(small);
  const std::vector<std::string> one = all_of(rank(small, 50, 1));
  CHECK(one == all_of(rank(small, 50, 2)));
  CHECK(one == all_of(rank(small, 50, 5)));
}

TEST_CASE("a side that is no whole number of cells is refused with those that are") {
  const auto with_side = [](double side) { return BlockGrid({0, 0, 10}, side, {"plan.toml", 20, ""}); };
  CHECK_THROWS_WITH_AS((void)with_side(105),
                       doctest::Contains("plan.toml:20: a block of 105 m is no whole number"), InputError);
  CHECK_THROWS_WITH_AS((void)with_side(105), doctest::Contains("Write 100 or 110."), InputError);
  CHECK_THROWS_WITH_AS((void)with_side(4), doctest::Contains("Write 10 or more."), InputError);
  CHECK_NOTHROW((void)BlockGrid({0, 0, 0.1}, 0.3, {}));
}

TEST_CASE("a block's way from the parking goes round barriers or says what stops it") {
  SmallSeason small;
  small.add_site("SKP", rectangle(761000, 4209600, 761200, 4209800));
  small.access.start["SKP"] = {761050, 4209500};
  small.access.barriers.push_back({"fence", {{{761100, 4209000}, {761100, 4210000}}}});
  SeasonBlocks shut = rank(small, 100);
  const SiteBlock& near = named(shut, "SKP 7610-2096");
  CHECK(near.way == "straight");
  CHECK(*near.metres == doctest::Approx(150));
  const SiteBlock& beyond = named(shut, "SKP 7611-2096");
  CHECK_FALSE(beyond.reached);
  CHECK_FALSE(beyond.metres.has_value());
  CHECK(says(beyond.caution, "without crossing fence"));

  small.access.crossings.push_back({{761100, 4209500}});
  const SeasonBlocks open = rank(small, 100);
  const SiteBlock& by_gate = named(open, "SKP 7611-2096");
  CHECK(by_gate.way == "past a barrier");
  CHECK(*by_gate.metres == doctest::Approx(50 + std::sqrt(50.0 * 50 + 150 * 150)));
  CHECK(by_gate.caution.empty());

  small.access.start.clear();
  CHECK(rank(small, 100).blocks.front().way == "no start given");
}

TEST_CASE("ways to points each for itself are those among all of them, but for steps over other points") {
  Access access;
  access.barriers.push_back({"ditch", {{{0, -40}, {0, 30}, {25, 30}, {25, 60}}}});
  access.barriers.push_back({"paddock", {{{60, -20}, {90, -20}, {90, 20}, {60, 20}, {60, -20}}}});
  access.crossings = {{{0, 0}}, {{12, 30}}};
  std::vector<Point> points;
  for (int x = -50; x <= 100; x += 15)
    for (int y = -50; y <= 70; y += 17) points.push_back({x + 0.5, y + 0.25});
  const Point start{-40, 5};
  const auto together = ways_past({access}, start, points);
  const std::vector<WayTo> alone = ways_to({access}, start, points);
  REQUIRE(together.has_value());
  REQUIRE(alone.size() == points.size());
  int round = 0, none = 0;
  for (std::size_t i = 0; i < points.size(); ++i) {
    CHECK(alone[i].open == together->is_open(0, i + 1));
    CHECK(alone[i].metres > together->between(0, i + 1) - 1e-6);
    CHECK(alone[i].metres < 1.25 * together->between(0, i + 1));
    if (alone[i].straight) CHECK(alone[i].metres == doctest::Approx(together->between(0, i + 1)));
    CHECK(alone[i].beyond == together->beyond[i]);
    round += alone[i].open && !alone[i].straight ? 1 : 0;
    none += alone[i].open ? 0 : 1;
  }
  CHECK(round > 10);
  CHECK(none > 0);
}

TEST_CASE("plots of a site with chosen blocks lie in them, at random, and the certificate says so") {
  SmallSeason small;
  small.add_site("QPR", rectangle(760233.5, 4209807.25, 760817, 4210411));
  small.add_site("SKP", rectangle(761003, 4209607, 761203, 4209807));
  small.season.plan.strata.by = {"site"};
  const SeasonDraw whole = small.draw();
  small.season.plan.blocks.chosen = {"QPR 7603-2099", "QPR 7604-2099", "QPR 7602-2100"};
  CHECK_THROWS_AS((void)small.draw(), Defect);  // without the cut the draw would be of the whole site
  (void)small.strata();
  Sites& sites = *small.sites;
  Flags flags;
  keep_chosen_blocks(small.season.plan, small.crs(), small.layers->grid(), sites, flags);
  REQUIRE(sites.chosen.size() == 1);
  const ChosenGround& chosen = sites.chosen.front();
  // Two whole blocks and one cut by the western edge.
  const double kept = 100 * 100 * 2 + 100 * (760300 - 760233.5);
  CHECK(chosen.chosen_m2 == doctest::Approx(kept));
  CHECK(chosen.of_m2 == doctest::Approx(583.5 * 603.75));
  CHECK(small.site("QPR").survey.area() == doctest::Approx(kept));
  CHECK(small.site("QPR").excluded.back().reason == "outside the chosen blocks");
  CHECK(small.site("QPR").survey_m2 + small.site("QPR").excluded_m2 ==
        doctest::Approx(small.site("QPR").drawn_m2));
  CHECK(says(flags_of(flags, "chosen blocks").at(0).meaning, "never for the site"));

  const SeasonDraw draw = draw_season(small.season, small.crs(), sites, *small.layers, *small.model,
                                      small.access, {1, {}, {}, {}}, small.flags);
  int here = 0;
  for (const Plot& plot : draw.plots) {
    if (plot.site != "QPR") continue;
    ++here;
    CHECK(small.site("QPR").survey.contains({plot.east, plot.north}));
    if (!plot.spare) CHECK(plot.chance_per_m2 == doctest::Approx(6 / kept));
  }
  CHECK(here == 9);
  // The other site's plots are the same as without.
  for (const Plot& plot : draw.plots) {
    if (plot.site != "SKP") continue;
    CHECK(std::any_of(whole.plots.begin(), whole.plots.end(), [&](const Plot& other) {
      return other.site == "SKP" && other.east == plot.east && other.north == plot.north;
    }));
  }
  const std::string json = to_json(draw.certificate);
  CHECK(says(json, "\"QPR 7602-2100\""));
  CHECK(says(json, "estimates speak for that ground, never for the site"));
}

TEST_CASE("names of blocks that are not there are refused, and nothing is cut") {
  SmallSeason small;
  add_sites(small);
  (void)small.strata();
  const double before = small.site("QPR").survey_m2;
  const auto stop_of = [&](const std::string& name) {
    small.season.plan.blocks.chosen = {"QPR 7603-2099", name};
    small.season.plan.blocks.chosen_place = {"plan.toml", 21, ""};
    Flags flags;
    keep_chosen_blocks(small.season.plan, small.crs(), small.layers->grid(), *small.sites, flags);
    CHECK(flags.stopped());
    CHECK(small.sites->chosen.empty());
    CHECK(small.site("QPR").survey_m2 == before);
    const Flag& flag = flags.all().front();
    return flag.place.text() + ": " + flag.meaning + " " + flag.remedy;
  };
  CHECK(stop_of("QPX 7603-2099") ==
        "plan.toml:21: chosen names QPX 7603-2099, and no site here has the code QPX. Did you mean QPR?");
  CHECK(says(stop_of("QPR 0001-0001"), "QPR 0001-0001 holds no survey area of QPR (blocks of 100 m)."));
  CHECK(says(stop_of("QPR 7609-2099"), "Did you mean QPR 760"));
}

}  // namespace blocks_test
