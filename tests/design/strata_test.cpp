#include "swardline/design/strata.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>
#include <numeric>

#include "small_season.hpp"

namespace strata_test {

using namespace swardline;

namespace {

/// A site with slanting edges over scored ground, the pond, ground with no data and both blocks.
const char* slanting =
    "POLYGON ((760113 4209507, 760921 4209551, 760871 4210633, 760208 4210477, 760113 4209507))";

/// The areas of kinds of ground by cutting the site with every cell, independent of the covers.
std::map<std::string, double> areas_by_cells(const Geometry& survey,
                                             const std::function<std::string(double, double)>& kind) {
  std::map<std::string, double> areas;
  for (int col = 0; col < 160; ++col) {
    for (int row = 0; row < 160; ++row) {
      const double x = SmallSeason::west + col * 10, y = SmallSeason::north - row * 10;
      const double area = intersection(survey, box_polygon({x, y - 10, x + 10, y})).area();
      if (area > 0) areas[kind(x + 5, y - 5)] += area;
    }
  }
  return areas;
}

std::string band_id_of(int percent) {
  return percent < 25 ? "0-25" : percent < 50 ? "25-50" : percent < 75 ? "50-75" : "75-100";
}

void check_areas(const SeasonStrata& ground, const std::map<std::string, double>& expected) {
  CHECK(ground.strata().size() == expected.size());
  for (const Stratum& stratum : ground.strata()) {
    REQUIRE_MESSAGE(expected.contains(stratum.id), stratum.id);
    CHECK(stratum.area_m2() == doctest::Approx(expected.at(stratum.id)).epsilon(1e-6));
  }
}

double total_m2(const SeasonStrata& ground) {
  double sum = 0;
  for (const Stratum& stratum : ground.strata()) sum += stratum.area_m2();
  return sum;
}

}  // namespace

TEST_CASE("strata by site and score cover the survey area and agree with cutting it cell by cell") {
  SmallSeason s;
  s.season.plan.strata.smallest_m2 = 0;
  s.add_site("QPR", slanting);
  s.exclude("no entry", rectangle(760300, 4209700, 760333, 4209990));
  const SeasonStrata ground = s.strata();
  const Geometry& survey = s.site("QPR").survey;
  check_areas(ground, areas_by_cells(survey, [](double x, double y) -> std::string {
                if (SmallSeason::cover_at(x, y) == 3) return "QPR|excluded|v1";
                if (SmallSeason::moisture_at(x, y) == 255) return "QPR|no-score|v1";
                return "QPR|score=" + band_id_of(std::max(40, SmallSeason::moisture_at(x, y))) + "|v1";
              }));
  CHECK(total_m2(ground) == doctest::Approx(survey.area()).epsilon(1e-9));
  for (const Stratum& stratum : ground.strata()) {
    CHECK(stratum.site == "QPR");
    const bool excluded = stratum.id.find("excluded") != std::string::npos;
    const bool none = stratum.id.find("no-score") != std::string::npos;
    CHECK(stratum.kind == (excluded ? StratumKind::excluded
                           : none   ? StratumKind::no_score
                                    : StratumKind::scored));
  }
  CHECK(ground.strata()[2].rule.find("score 0.25–0.50 of the best species") == 0);
  CHECK(ground.band(2) == "0.25-0.50");
}

TEST_CASE("the mean of the species and one species alone band the ground differently from the best") {
  for (const std::string of : {"mean", "PTUB"}) {
    SmallSeason s;
    s.season.plan.strata.smallest_m2 = 0;
    s.season.plan.strata.score_of = of;
    s.add_site("QPR", slanting);
    const SeasonStrata ground = s.strata();
    check_areas(ground, areas_by_cells(s.site("QPR").survey, [&](double x, double y) -> std::string {
                  const int moisture = SmallSeason::moisture_at(x, y);
                  if (SmallSeason::cover_at(x, y) == 3) return "QPR|excluded|v1";
                  if (moisture == 255) return "QPR|no-score|v1";
                  return "QPR|score=" + band_id_of(of == "mean" ? (moisture + 40 + 1) / 2 : moisture) + "|v1";
                }));
  }
}

TEST_CASE("a class layer and a site attribute make strata, with or without the site") {
  SmallSeason s;
  s.season.plan.strata.smallest_m2 = 0;
  s.season.plan.strata.by = {"habitat", "score", "cover"};
  s.add_site("QPR", rectangle(760113, 4209707, 760300, 4210477), "prairie");
  s.add_site("ANL", rectangle(760300, 4209707, 760800, 4210477), "prairie");
  s.add_site("FLG", rectangle(760900, 4209707, 760990, 4210477), "glade");
  const SeasonStrata ground = s.strata();
  std::vector<Geometry> prairie = {s.site("QPR").survey, s.site("ANL").survey};
  const auto kind = [](const std::string& head) {
    return [head](double x, double y) -> std::string {
      if (SmallSeason::cover_at(x, y) == 3) return head + "|excluded|v1";
      const std::string cover = SmallSeason::cover_at(x, y) == 1 ? "WM" : "GL";
      return head + "|score=" + band_id_of(std::max(40, SmallSeason::moisture_at(x, y))) + "|cover=" + cover +
             "|v1";
    };
  };
  std::map<std::string, double> expected = areas_by_cells(united(prairie), kind("all|habitat=prairie"));
  expected.merge(areas_by_cells(s.site("FLG").survey, kind("all|habitat=glade")));
  check_areas(ground, expected);
  // The sites QPR and ANL share a column of strata; a point tells them apart.
  for (std::size_t i = 0; i < ground.strata().size(); ++i) {
    CHECK(ground.strata()[i].site == "all");
    if (ground.strata()[i].id.find("prairie|score=25-50|cover=GL") == std::string::npos) continue;
    CHECK(ground.sites_of(i).size() == 2);
    const Grid& grid = s.layers->grid();
    const auto site_at = [&](Point p) {
      return s.sites->sites[ground.site_at(i, grid.col_of(p.x), grid.row_of(p.y), p)].code;
    };
    CHECK(site_at({760200, 4210000}) == "QPR");
    CHECK(site_at({760400, 4210000}) == "ANL");
  }
}

TEST_CASE("a stratum's frame gives cells that add up to its blocks, and ground within the site") {
  SmallSeason s;
  s.add_site("QPR", slanting);
  const SeasonStrata ground = s.strata();
  for (std::size_t i = 0; i < ground.strata().size(); ++i) {
    const auto frame = ground.frame(i);
    std::int64_t sum = 0;
    for (const BlockArea& block : frame->blocks()) {
      std::int64_t in_block = 0;
      for (const CellArea& cell : frame->cells(block.block)) in_block += cell.mm2;
      CHECK(in_block == block.mm2);
      sum += in_block;
    }
    CHECK(sum == ground.strata()[i].area_mm2);
    CHECK(std::is_sorted(frame->blocks().begin(), frame->blocks().end(),
                         [](const BlockArea& a, const BlockArea& b) { return a.block < b.block; }));
    const CellArea cell = frame->cells(frame->blocks()[0].block).front();
    CHECK(frame->ground(cell.col, cell.row).area() == doctest::Approx(double(cell.mm2) * 1e-6).epsilon(1e-6));
  }
}

TEST_CASE("any number of threads makes the same strata") {
  SmallSeason one, two;
  for (SmallSeason* s : {&one, &two}) {
    s->add_site("QPR", slanting);
    s->add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  }
  const SeasonStrata first = one.strata(1), second = two.strata(3);
  REQUIRE(first.strata().size() == second.strata().size());
  for (std::size_t i = 0; i < first.strata().size(); ++i) {
    CHECK(first.strata()[i].id == second.strata()[i].id);
    CHECK(first.strata()[i].area_mm2 == second.strata()[i].area_mm2);
  }
}

TEST_CASE("strata under the smallest join the larger neighbouring band, and it is said") {
  SmallSeason s;
  // PTUB: 10 m wide columns of 100 m: percents 23 and 24 (2 columns), 25 … 49 and 50 (1 column).
  s.season.plan.strata.score_of = "PTUB";
  s.season.plan.strata.smallest_m2 = 2500;
  s.add_site("QPR", rectangle(760220, 4210000, 760500, 4210100));
  const SeasonStrata ground = s.strata();
  REQUIRE(ground.strata().size() == 1);
  CHECK(ground.strata()[0].id == "QPR|score=25-50|v1");
  CHECK(ground.strata()[0].area_m2() == doctest::Approx(28000));
  CHECK(says(ground.strata()[0].joined, "score 0.50–0.75 of PTUB (1000 m²)"));
  CHECK(says(ground.strata()[0].joined, "score 0.00–0.25 of PTUB (2000 m²)"));
  CHECK(flags_of(s.flags, "small strata joined").size() == 1);
}

TEST_CASE("a small stratum between two bands joins the larger, or the lower of two alike") {
  // One column of 25 percent, three below it, and four or three above.
  for (const auto& [east_edge, id] :
       {std::pair{760290.0, "QPR|score=26-100|v1"}, {760280.0, "QPR|score=0-25|v1"}}) {
    SmallSeason s;
    s.season.plan.strata.score_of = "PTUB";
    s.season.plan.strata.bands = {0.25, 0.26};
    s.season.plan.strata.smallest_m2 = 2500;
    s.add_site("QPR", rectangle(760210, 4210000, east_edge, 4210100));
    const SeasonStrata ground = s.strata();
    REQUIRE(ground.strata().size() == 2);
    for (const Stratum& stratum : ground.strata()) CHECK(stratum.joined.empty() == (stratum.id != id));
  }
}

TEST_CASE("excluded ground and ground without a score never join, however small") {
  SmallSeason s;
  s.season.plan.strata.smallest_m2 = 1e9;
  s.add_site("QPR", rectangle(760580, 4210300, 760620, 4210310));
  s.add_site("ANL", rectangle(760500, 4209590, 760510, 4209700));
  std::vector<std::string> ids;
  const SeasonStrata ground = s.strata();
  for (const Stratum& stratum : ground.strata()) ids.push_back(stratum.id);
  CHECK(ids == std::vector<std::string>{"ANL|no-score|v1", "ANL|score=50-75|v1", "QPR|excluded|v1",
                                        "QPR|score=50-75|v1"});
}

TEST_CASE("a season without scored species can be stratified by site alone") {
  SmallSeason s;
  s.season.sheets.clear();
  s.season.plan.strata.by = {"site"};
  s.add_site("QPR", slanting);
  const SeasonStrata ground = s.strata();
  REQUIRE(ground.strata().size() == 1);
  CHECK(ground.strata()[0].id == "QPR|v1");
  CHECK(ground.strata()[0].area_m2() == doctest::Approx(s.site("QPR").survey_m2).epsilon(1e-9));
}

TEST_CASE("readings at cells are the scores there, in the order asked") {
  SmallSeason s;
  s.add_site("QPR", slanting);
  const SeasonStrata ground = s.strata();
  const Grid& grid = s.layers->grid();
  const std::vector<Point> points = {
      {760805, 4210005}, {760205, 4210005}, {760655, 4210305}, {760205, 4209505}};
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;
  for (const Point& p : points) cells.emplace_back(grid.col_of(p.x), grid.row_of(p.y));
  const std::vector<CellReading> readings = ground.readings(cells);
  CHECK(readings[0].score_percent == 81);
  CHECK(readings[0].percent == std::map<std::string, int>{{"PDIG", 40}, {"PTUB", 81}});
  CHECK(readings[0].held_down_by == "moisture");
  CHECK(readings[1].score_percent == 40);
  CHECK_FALSE(readings[2].score_percent.has_value());
  CHECK(says(readings[2].held_down_by, "excluded"));
  CHECK_FALSE(readings[3].score_percent.has_value());
  CHECK(says(readings[3].held_down_by, "moisture"));
}

TEST_CASE("strata that cannot be made are errors with the nearest name") {
  const auto message = [](const std::vector<std::string>& by, const std::string& score_of) -> std::string {
    SmallSeason s;
    s.season.plan.strata.by = by;
    s.season.plan.strata.score_of = score_of;
    s.season.plan.sites.private_attributes = {"owner"};
    s.add_site("QPR", slanting);
    try {
      (void)s.strata();
    } catch (const InputError& error) {
      return error.what();
    }
    return "no error";
  };
  CHECK(says(message({"site", "scor"}, "best"), "plan.toml:30"));
  CHECK(says(message({"site", "scor"}, "best"), "Did you mean `score`?"));
  CHECK(says(message({"habitta"}, "best"), "`habitat`"));
  CHECK(says(message({"moisture"}, "best"), "a measure"));
  CHECK(says(message({"owner"}, "best"), "private"));
  CHECK(says(message({"score"}, "PTUP"), "PTUB"));
  CHECK(message({"score"}, "PTUB") == "no error");
}

TEST_CASE("class values that no legend names stop the draw with the value and its cells") {
  SmallSeason s;
  s.make_layers(0, 1204);
  s.add_site("QPR", rectangle(760000, 4210800, 761500, 4211000));
  std::string message;
  try {
    (void)s.strata(2);
  } catch (const InputError& error) {
    message = error.what();
  }
  CHECK(says(message, "cover value 57 (1,204 cells) is in no legend"));
}

TEST_CASE("a stratum's geodesic ratio is its site's, and over several sites their mean by ground") {
  // This far from the zone's middle a kilometre changes the ratio in the fifth decimal.
  const auto add_three = [](SmallSeason& s) {
    s.add_site("WST", rectangle(760300, 4210000, 760500, 4210200));
    s.add_site("EST", rectangle(761500, 4210000, 761600, 4210400));
    s.add_site("MID", rectangle(760490, 4210500, 760790, 4210600));
  };
  SmallSeason by_site, by_score;
  add_three(by_site);
  const SeasonStrata parts = by_site.strata();
  for (const Stratum& stratum : parts.strata())
    CHECK(stratum.geodesic_ratio == by_site.site(stratum.site).geodesic_ratio);
  by_score.season.plan.strata.by = {"score"};
  add_three(by_score);
  const SeasonStrata ground = by_score.strata();
  const auto ratio = [&](const char* code) { return by_score.site(code).geodesic_ratio; };
  REQUIRE(std::abs(ratio("EST") - ratio("WST")) > 1e-6);
  // Moisture 50–74 % lies at 760,490–760,740 E: 10 m of WST, 250 m of MID.
  const double expected = (10 * 200 * ratio("WST") + 250 * 100 * ratio("MID")) / 27000;
  bool met = false;
  for (const Stratum& stratum : ground.strata()) {
    if (stratum.id != "all|score=50-75|v1") continue;
    met = true;
    CHECK(stratum.area_m2() == doctest::Approx(27000));
    CHECK(std::abs(stratum.geodesic_ratio - expected) < 1e-12);
  }
  CHECK(met);
}

}  // namespace strata_test
