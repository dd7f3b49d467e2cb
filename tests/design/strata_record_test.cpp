// Strata of record: kept from season to season, whatever happens to scores, cells and polygons.
#include "swardline/design/strata_record.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdio>
#include <fstream>
#include <map>

#include "small_season.hpp"

namespace strata_record_test {

using namespace swardline;

namespace {

const char* slanting =
    "POLYGON ((760113 4209607, 760921 4209651, 760871 4210633, 760208 4210477, 760113 4209607))";

std::map<std::string, std::int64_t> areas_of(const SeasonStrata& ground) {
  std::map<std::string, std::int64_t> areas;
  for (const Stratum& stratum : ground.strata()) areas[stratum.id] = stratum.area_mm2;
  return areas;
}

std::vector<std::string> words_of(const Flags& flags, const std::string& check) {
  std::vector<std::string> words;
  for (const Flag& flag : flags_of(flags, check)) words.push_back(flag.meaning);
  return words;
}

/// A season whose strata are recorded.
void record_first(SmallSeason& s) {
  s.keep_record();
  const SeasonStrata ground = s.strata();
  REQUIRE(ground.draft() != nullptr);
  ground.draft()->publish();
}

double m2_of(const SeasonStrata& ground, int version) {
  double sum = 0;
  for (const Stratum& stratum : ground.strata()) sum += stratum.version == version ? stratum.area_m2() : 0;
  return sum;
}

}  // namespace

TEST_CASE("strata read from the record are those that were made, to the square millimetre") {
  SmallSeason s;
  s.add_site("QPR", slanting);
  s.add_site("ANL", rectangle(761000, 4209500, 761400, 4210900));
  s.keep_record();
  const SeasonDraw first = s.draw(2);
  first.record->publish();
  const SeasonDraw second = s.draw(1);
  CHECK(second.record == nullptr);
  REQUIRE(first.strata.size() == second.strata.size());
  for (std::size_t i = 0; i < first.strata.size(); ++i) {
    CHECK(first.strata[i].id == second.strata[i].id);
    CHECK(first.strata[i].area_mm2 == second.strata[i].area_mm2);
    CHECK(first.strata[i].rule == second.strata[i].rule);
    CHECK(first.strata[i].kind == second.strata[i].kind);
  }
  REQUIRE(first.plots.size() == second.plots.size());
  for (std::size_t i = 0; i < first.plots.size(); ++i) {
    CHECK(first.plots[i].east == second.plots[i].east);
    CHECK(first.plots[i].north == second.plots[i].north);
  }
  CHECK(first.certificate.record_fingerprint == second.certificate.record_fingerprint);
  CHECK(first.certificate.record_fingerprint.size() == 16);
}

TEST_CASE("new scores move no ground to another stratum, and the hectares they would move are said") {
  SmallSeason s;
  s.season.plan.strata.score_of = "PTUB";
  s.season.plan.strata.smallest_m2 = 0;
  s.add_site("QPR", slanting);
  record_first(s);
  const auto before = areas_of(s.strata());
  CHECK(words_of(s.flags, "scores changed, strata kept").empty());
  s.change_rule({{0, 0}, {50, 1}, {100, 1}});  // twice the moisture
  CHECK(areas_of(s.strata()) == before);
  const auto words = words_of(s.flags, "scores changed, strata kept");
  REQUIRE(words.size() == 1);
  // Cell by cell, independent of the covers: a cell counts when its band is another than before.
  double changed = 0;
  const auto band = [](int percent) { return percent < 25 ? 0 : percent < 50 ? 1 : percent < 75 ? 2 : 3; };
  for (int col = 0; col < 160; ++col) {
    for (int row = 0; row < 160; ++row) {
      const double x = SmallSeason::west + col * 10, y = SmallSeason::north - row * 10;
      const int moisture = SmallSeason::moisture_at(x + 5, y - 5);
      if (SmallSeason::cover_at(x + 5, y - 5) == 3 || band(moisture) == band(std::min(100, 2 * moisture)))
        continue;
      changed += intersection(s.site("QPR").survey, box_polygon({x, y - 10, x + 10, y})).area();
    }
  }
  char hectares[40];
  std::snprintf(hectares, sizeof hectares, ": %.1f ha of ", changed * 1e-4);
  CHECK_MESSAGE(says(words[0], hectares), words[0], " ", changed);
  CHECK(says(words[0], "Strata stay as of version 1"));
}

TEST_CASE("ground that a site gains gets strata of its own version; the old keep theirs and their plots") {
  SmallSeason s;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  s.keep_record();
  const SeasonDraw first = s.draw();
  first.record->publish();
  s.clear_sites();
  s.add_site("QPR", rectangle(760113, 4209707, 760713, 4210277));
  s.add_site("ANL", rectangle(761000, 4209700, 761400, 4210900));
  const SeasonDraw second = s.draw();
  REQUIRE(second.record != nullptr);
  second.record->publish();
  std::map<std::string, std::int64_t> old_area;
  for (const Stratum& stratum : first.strata) old_area[stratum.id] = stratum.area_mm2;
  double fresh = 0;
  for (const Stratum& stratum : second.strata) {
    CHECK(stratum.version == (old_area.contains(stratum.id) ? 1 : 2));
    if (old_area.contains(stratum.id)) {
      CHECK(stratum.area_mm2 == old_area[stratum.id]);
    } else {
      CHECK(stratum.id.ends_with("|v2"));
      fresh += stratum.area_m2();
    }
  }
  CHECK(fresh == doctest::Approx(200.0 * 570 + 400.0 * 1200).epsilon(1e-9));
  for (const Plot& plot : first.plots) {
    const bool kept = std::any_of(second.plots.begin(), second.plots.end(), [&](const Plot& p) {
      return p.stratum == plot.stratum && p.order == plot.order && p.spare == plot.spare &&
             p.east == plot.east && p.north == plot.north && p.chance_per_m2 == plot.chance_per_m2;
    });
    CHECK_MESSAGE(kept, plot.stratum);
  }
  for (const Plot& plot : second.plots) {
    if (plot.site == "QPR") CHECK((plot.east > 760513) == plot.stratum.ends_with("|v2"));
  }
  CHECK(flags_of(s.flags, "new ground").size() == 2);
  // A third draw finds nothing new.
  const SeasonDraw third = s.draw();
  CHECK(third.record == nullptr);
  CHECK(third.strata.size() == second.strata.size());
}

TEST_CASE("an outline drawn on keeps old plots where they were, though its new corners are rounded") {
  SmallSeason s;
  s.add_site("QPR", slanting);
  s.keep_record();
  const SeasonDraw first = s.draw();
  first.record->publish();
  s.clear_sites();
  // Two new corners on the slanting eastern edge, half a millimetre east and a quarter west of it.
  // Between them a field is added.
  s.add_site("QPR",
             "POLYGON ((760113 4209607, 760921 4209651, 760913.363 4209801, 761100 4209801, 761100 4210001, "
             "760903.179 4210001, 760871 4210633, 760208 4210477, 760113 4209607))");
  const SeasonDraw second = s.draw();
  std::map<std::string, Point> places;
  for (const Plot& plot : second.plots)
    places[plot.stratum + (plot.spare ? " spare " : " ") + std::to_string(plot.order)] = {plot.east,
                                                                                          plot.north};
  REQUIRE(!first.plots.empty());
  for (const Plot& plot : first.plots) {
    const std::string key = plot.stratum + (plot.spare ? " spare " : " ") + std::to_string(plot.order);
    REQUIRE_MESSAGE(places.contains(key), key);
    CHECK(places[key].x == plot.east);
    CHECK(places[key].y == plot.north);
  }
  CHECK(words_of(s.flags, "slivers of new ground").empty());
  CHECK(words_of(s.flags, "new ground").size() == 1);
}

TEST_CASE("lost ground is said and its strata shrink; slivers join the strata beside them") {
  SmallSeason s;
  s.season.plan.strata.smallest_m2 = 400;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  record_first(s);
  s.clear_sites();
  s.add_site("QPR", rectangle(760113, 4209707, 760413, 4210277.5));  // 10 columns less, 0.5 m more
  const SeasonStrata ground = s.strata();
  CHECK(ground.draft() == nullptr);
  CHECK(m2_of(ground, 1) == doctest::Approx(300 * 570.5).epsilon(1e-9));
  CHECK(m2_of(ground, 2) == 0);
  const auto lost = words_of(s.flags, "ground lost since the strata of record");
  REQUIRE(lost.size() == 1);
  CHECK(says(lost[0], "5.7 ha of the 22.8 ha"));
  CHECK(says(words_of(s.flags, "slivers of new ground").at(0), "150.0 m²"));
}

TEST_CASE("another rule of [strata] is refused, unless strata are asked for anew") {
  SmallSeason s;
  s.add_site("QPR", slanting);
  record_first(s);
  s.season.plan.strata.bands = {0.5};
  CHECK_THROWS_WITH_AS((void)s.strata(), doctest::Contains("bands 0.25 0.5 0.75, and the plan now says"),
                       InputError);
  s.record.anew = true;
  const SeasonStrata ground = s.strata();
  for (const Stratum& stratum : ground.strata()) CHECK(stratum.version == 2);
  REQUIRE(ground.draft() != nullptr);
  ground.draft()->publish();
  const auto& words = ground.record_words();
  const auto line = std::find_if(words.begin(), words.end(),
                                 [](const std::string& w) { return says(w, "QPR|score=25-50: "); });
  REQUIRE(line != words.end());
  CHECK(says(*line, "0.00 ha now"));
  s.record.anew = false;
  CHECK(areas_of(s.strata()) == areas_of(ground));
}

TEST_CASE("finer cells that nest leave every stratum its ground") {
  SmallSeason s;
  s.season.plan.grid.cell_m = 10;
  s.add_site("QPR", slanting);
  record_first(s);
  const auto before = areas_of(s.strata());
  s.season.plan.grid.cell_m = 5;
  const auto after = areas_of(s.strata());
  REQUIRE(after.size() == before.size());
  for (const auto& [id, mm2] : before) CHECK(std::abs(after.at(id) - mm2) < 10'000);  // rounding of the cells
  CHECK(says(words_of(s.flags, "other cells than the strata of record").at(0), "they nest"));
}

TEST_CASE("a record that was changed, cut short or has a gap is refused") {
  for (const std::string what : {"map", "table", "gap", "survey"}) {
    SmallSeason s;
    s.add_site("QPR", slanting);
    record_first(s);
    const auto v1 = s.folder() / "record" / "v1";
    if (what == "map") std::ofstream(v1 / "strata.tif", std::ios::app) << "x";
    if (what == "table") write_whole(v1 / "strata.toml", read_whole(v1 / "strata.toml").substr(0, 900));
    if (what == "gap") std::filesystem::rename(v1, s.folder() / "record" / "v2");
    if (what == "survey") std::filesystem::remove(v1 / "survey.gpkg");
    CHECK_THROWS_WITH_AS((void)s.strata(), doctest::Contains("strata of record are damaged"), InputError);
  }
}

TEST_CASE("a draft that is not published leaves nothing, and a half-made one is no record") {
  SmallSeason s;
  s.add_site("QPR", slanting);
  s.keep_record();
  { const SeasonStrata ground = s.strata(); }
  CHECK_FALSE(std::filesystem::exists(s.folder() / "record"));
  make_folder(s.folder() / "record" / "v1.part");
  write_whole(s.folder() / "record" / "v1.part" / "strata.toml", "half");
  const SeasonStrata ground = s.strata();
  CHECK(ground.strata().front().version == 1);
  ground.draft()->publish();
  CHECK_FALSE(std::filesystem::exists(s.folder() / "record" / "v1.part"));
}

TEST_CASE(
    "strata by site, score, attribute and class layer, in every combination, agree with cutting by cells") {
  const std::vector<std::string> parts = {"site", "score", "habitat", "cover"};
  for (unsigned chosen = 1; chosen < 16; ++chosen) {
    SmallSeason s;
    s.season.plan.strata.smallest_m2 = 0;
    s.season.plan.strata.by.clear();
    for (unsigned i = 0; i < 4; ++i) {
      if ((chosen >> i & 1U) != 0) s.season.plan.strata.by.push_back(parts[i]);
    }
    s.add_site("QPR", rectangle(760513, 4210207, 760700, 4210377), "prairie");
    s.add_site("ANL", rectangle(760720, 4209557, 760790, 4209707), "prairie");
    s.add_site("FLG", rectangle(760900, 4210207, 760990, 4210377), "glade");
    const SeasonStrata ground = s.strata();
    const bool by_site = (chosen & 1U) != 0, score = (chosen & 2U) != 0, habitat = (chosen & 4U) != 0,
               cover = (chosen & 8U) != 0;
    std::map<std::string, double> expected;
    for (const Site& site : s.sites->sites) {
      for (int col = 50; col < 100; ++col) {
        for (int row = 60; row < 160; ++row) {
          const double x = SmallSeason::west + col * 10, y = SmallSeason::north - row * 10;
          const double m2 = intersection(site.survey, box_polygon({x, y - 10, x + 10, y})).area();
          if (m2 == 0) continue;
          const int moisture = SmallSeason::moisture_at(x + 5, y - 5),
                    kind = SmallSeason::cover_at(x + 5, y - 5);
          std::string id = by_site ? site.code : "all";
          if (habitat) id += "|habitat=" + site.attributes.at("habitat");
          const int percent = std::max(40, moisture);
          if (kind == 3) {
            id += "|excluded";
          } else if (score && moisture == 255) {
            id += "|no-score";
          } else {
            if (score) id = id.substr(0, id.find("|habitat"));
            if (score) id += percent < 50 ? "|score=25-50" : percent < 75 ? "|score=50-75" : "|score=75-100";
            if (score && habitat) id += "|habitat=" + site.attributes.at("habitat");
            if (cover) id += kind == 1 ? "|cover=WM" : "|cover=GL";
          }
          expected[id + "|v1"] += m2;
        }
      }
    }
    CHECK_MESSAGE(ground.strata().size() == expected.size(), chosen);
    for (const Stratum& stratum : ground.strata()) {
      REQUIRE_MESSAGE(expected.contains(stratum.id), chosen, " ", stratum.id);
      CHECK(stratum.area_m2() == doctest::Approx(expected[stratum.id]).epsilon(1e-6));
    }
  }
}

TEST_CASE("an inner margin is kept from the edges of the survey area, not from those of the record") {
  SmallSeason s;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  record_first(s);
  s.clear_sites();
  s.add_site("QPR", rectangle(760113, 4209707, 760713, 4210277));
  s.season.plan.sample.edge = EdgeRule::inner_margin;
  s.season.plan.sample.margin_m = 20;
  const SeasonStrata ground = s.strata();
  double old_ground = 0, fresh = 0;
  for (const Stratum& stratum : ground.strata())
    (stratum.version == 1 ? old_ground : fresh) += double(stratum.frame_mm2) * 1e-6;
  // 600 m × 570 m less 20 m all round (and 3 mm more, for arcs); of that, 380 m × 530 m is ground of the
  // record. Kept from its edges too, the margin would take 11 % of the new ground.
  CHECK(old_ground == doctest::Approx(380.0 * 530).epsilon(5e-5));
  CHECK(fresh == doctest::Approx(180.0 * 530).epsilon(5e-5));
}

TEST_CASE("pins outside a site are refused where part of it is new since the record") {
  SmallSeason s;
  s.add_site("QPR", rectangle(760113, 4209707, 760513, 4210277));
  s.season.plan.sample.edge = EdgeRule::grown_frame;
  record_first(s);
  CHECK_NOTHROW(s.strata());
  s.clear_sites();
  s.add_site("QPR", rectangle(760113, 4209707, 760713, 4210277));
  CHECK_THROWS_WITH_AS(s.strata(),
                       doctest::Contains("grown-frame: part of QPR is new since the strata of record"),
                       InputError);
}

}  // namespace strata_record_test
