// What a sheet reads as.
#include <cmath>
#include <limits>

#include "season_folder.hpp"

namespace sheet_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
constexpr double inf = std::numeric_limits<double>::infinity();
}

TEST_CASE("a sheet reads with every kind of response, masks, groups and look-alikes") {
  const Reading reading = read_sheet_only(R"(code = "PTUB"
name = "Penstemon tubaeflorus"
common = "white wand beardtongue"
version = 3
window = ["05-20", "06-25"]
sensitivity = "medium"
[[factor]]
layer = "moisture"
trapezoid = [-inf, -inf, 38, 46.5]
group = "wet"
why = "seedlings drown"
[[factor]]
layer = "cover"
group = "wet"
scores = { WM = 1, MP = 0.9 }
excluded = ["OW"]
otherwise = 0.25
[[factor]]
layer = "heat"
role = "modifying"
weight = 2
points = [[0.75, 0], [0.9, 1], [1.06, 1]]
[[group]]
name = "wet"
rule = "lowest"
[[mask]]
layer = "elevation"
keep_below = 260
keep_above = 120
[[mask]]
layer = "slope"
keep_below = 35
reason = "too steep to stand"
[combine]
limiting_power = 0.7
floor = 0.05
[traits]
flower_colour = "white"
[[look_alike]]
of = "Saponaria officinalis"
tell = "three veins"
)");
  CHECK(reading.all() == "");
  REQUIRE(reading.season.sheets.size() == 1);
  const Sheet& sheet = reading.season.sheets[0];
  CHECK(sheet.version == 3);
  REQUIRE(sheet.window);
  CHECK(sheet.window->first.month == 5);
  CHECK(sheet.window->second.day == 25);
  CHECK(sheet.sensitivity == "medium");
  REQUIRE(sheet.factors.size() == 3);
  const auto& trapezoid = std::get<Trapezoid>(sheet.factors[0].response);
  CHECK(trapezoid.a == -inf);
  CHECK(trapezoid.b == -inf);
  CHECK(trapezoid.c == 38);
  CHECK(trapezoid.d == 46.5);
  CHECK(sheet.factors[0].role == Role::limiting);
  CHECK(sheet.factors[0].group == "wet");
  CHECK(sheet.factors[0].place.text() == "species/PTUB.toml:7");
  const auto& table = std::get<ClassTable>(sheet.factors[1].response);
  CHECK(table.scores == std::map<std::string, double>{{"WM", 1}, {"MP", 0.9}});
  CHECK(table.excluded == std::set<std::string>{"OW"});
  CHECK(table.otherwise == 0.25);
  const auto& line = std::get<Polyline>(sheet.factors[2].response);
  CHECK(line.points == std::vector<std::pair<double, double>>{{0.75, 0}, {0.9, 1}, {1.06, 1}});
  CHECK(sheet.factors[2].role == Role::modifying);
  CHECK(sheet.factors[2].weight == 2);
  REQUIRE(sheet.groups.size() == 1);
  CHECK(sheet.groups[0].combine.rule == Rule::lowest);
  REQUIRE(sheet.masks.size() == 2);
  CHECK(sheet.masks[0].reason == "elevation at or above 260 m, or at or below 120 m");
  CHECK(sheet.masks[1].reason == "too steep to stand");
  CHECK(sheet.combine.rule == Rule::graded);
  CHECK(sheet.combine.limiting_power == 0.7);
  CHECK(sheet.combine.floor == 0.05);
  CHECK(sheet.traits.at("flower_colour") == std::vector<std::string>{"white"});
  REQUIRE(sheet.look_alikes.size() == 1);
}

TEST_CASE("a sheet may be monitored and not scored, and a missing combination is graded") {
  const Reading reading =
      read(sound_plan, {{"PTUB", sound_sheet}, {"PGRC", "code = \"PGRC\"\nname = \"N\"\nscored = false\n"}});
  CHECK(reading.all() == "");
  CHECK_FALSE(reading.season.sheets[0].scored);
  CHECK(reading.season.sheets[1].combine.rule == Rule::graded);
  CHECK(reading.season.sheets[1].combine.limiting_power == 0.6);
}

TEST_CASE("slope, aspect and heat need an elevation layer only") {
  const std::string sheet = sound_sheet + "[[factor]]\nlayer = \"slope\"\ntrapezoid = [0, 8, inf, inf]\n";
  CHECK(read_sheet_only(sheet).all() == "");
  const Reading without =
      read(with(sound_plan, "[layers.elevation]\nsource = \"elevation.tif\"\nunit = \"m\"\n", ""),
           {{"PTUB", sheet}});
  CHECK_SAYS_ONLY(
      without,
      "STOP species/PTUB.toml:10: PTUB: slope is in the rule but no elevation layer was given. Not scored. "
      "Add [layers.elevation] to the plan, or take slope out of the sheet.");
}

}  // namespace sheet_test
