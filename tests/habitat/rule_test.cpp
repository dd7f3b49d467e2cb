#include <doctest/doctest.h>

#include <cmath>
#include <map>

#include "fixture.hpp"
#include "swardline/base/error.hpp"
#include "swardline/habitat/rule.hpp"

namespace rule_test {

using namespace swardline;
using namespace habitat_test;

namespace {

LayerValue number(double value) { return {value, "", false}; }
LayerValue code(const std::string& class_code) { return {1.0, class_code, false}; }
LayerValue nothing() { return {{}, "", true}; }

using Values = std::map<std::string, LayerValue>;

CellScore score(const Sheet& sheet, const Values& values) {
  return score_cell(sheet, [&](const std::string& layer) { return values.at(layer); });
}
Values pcob_values(double moisture, const std::string& cover, const std::string& bedrock, double heat,
                   double canopy) {
  return {{"moisture", number(moisture)},
          {"cover", code(cover)},
          {"bedrock", code(bedrock)},
          {"heat", number(heat)},
          {"canopy", number(canopy)}};
}
/// Factors f0, f1 … that pass their value through.
Sheet plain(Rule rule, const std::vector<double>& weights, Role role = Role::limiting) {
  Sheet sheet;
  sheet.code = "TEST";
  sheet.combine.rule = rule;
  for (std::size_t i = 0; i < weights.size(); ++i) {
    Factor factor = limiting("f" + std::to_string(i), Polyline{{{0, 0}, {1, 1}}});
    factor.role = role;
    factor.weight = weights[i];
    sheet.factors.push_back(factor);
  }
  return sheet;
}
Values plain_values(const std::vector<double>& values) {
  Values out;
  for (std::size_t i = 0; i < values.size(); ++i) out["f" + std::to_string(i)] = number(values[i]);
  return out;
}
std::string held_by(const Sheet& sheet, const CellScore& cell) {
  return cell.held_down_by ? sheet.factors[*cell.held_down_by].layer : "nothing";
}

}  // namespace

TEST_CASE("A trapezoid is 0 at its outer corners, 1 between the inner ones and straight between") {
  const Trapezoid t{20, 26, 38, 46};
  CHECK(respond(t, 19) == 0);
  CHECK(respond(t, 20) == 0);
  CHECK(respond(t, 23) == doctest::Approx(0.5));
  CHECK(respond(t, 26) == 1);
  CHECK(respond(t, 38) == 1);
  CHECK(respond(t, 42) == doctest::Approx(0.5));
  CHECK(respond(t, 46) == 0);
  CHECK(respond(t, 1000) == 0);
}

TEST_CASE("An open shoulder never falls, and a steep edge is 1 at its corner") {
  const Trapezoid open_low{-inf, -inf, 25, 60};
  CHECK(respond(open_low, -1e300) == 1);
  CHECK(respond(open_low, 25) == 1);
  CHECK(respond(open_low, 60) == 0);
  const Trapezoid open_high{0, 8, inf, inf};
  CHECK(respond(open_high, 0) == 0);
  CHECK(respond(open_high, 1e300) == 1);
  const Trapezoid steep{10, 10, 20, 20};
  CHECK(respond(steep, 10) == 1);
  CHECK(respond(steep, 20) == 1);
  CHECK(respond(steep, std::nextafter(10.0, 0)) == 0);
  CHECK(respond(steep, std::nextafter(20.0, 30)) == 0);
}

TEST_CASE("Points are joined by straight lines and held constant beyond their ends") {
  const Polyline p{{{0.75, 0}, {0.9, 1}, {1.06, 1}, {1.15, 0.2}}};
  CHECK(respond(p, 0.1) == 0);
  CHECK(respond(p, 0.825) == doctest::Approx(0.5));
  CHECK(respond(p, 1.0) == 1);
  CHECK(respond(p, 1.105) == doctest::Approx(0.6));
  CHECK(respond(p, 9) == 0.2);
}

// Worked by hand from the rule: score = L^0.6 × G^0.4, the figures printed to three places.
TEST_CASE("Four places scored by hand under the cobaea rule") {
  const Sheet sheet = pcob();
  SUBCASE("a dolomite glade is held down by its canopy") {
    const CellScore a = score(sheet, pcob_values(14, "GL", "DOL", 1.02, 35));
    CHECK(a.outcome == Outcome::scored);
    CHECK(std::round(a.score * 1000) == 914);
    CHECK(percent(a.score) == 91);
    CHECK(held_by(sheet, a) == "canopy");
    REQUIRE(a.factors.size() == 5);
    CHECK(a.factors[3].response == doctest::Approx(0.714).epsilon(0.001));
    CHECK_FALSE(a.reweighted);
  }
  SUBCASE("open woods on chert are held down by the cover") {
    const CellScore b = score(sheet, pcob_values(20, "WD", "CHT", 0.90, 55));
    CHECK(std::round(b.score * 1000) == 325);
    CHECK(held_by(sheet, b) == "cover");
    CHECK(b.factors[0].response == doctest::Approx(0.5));
    CHECK(b.factors[1].response == doctest::Approx(0.4));
    CHECK(b.factors[2].response == doctest::Approx(0.5));
    CHECK(b.factors[3].response == doctest::Approx(0.143).epsilon(0.004));
    CHECK(b.factors[4].response == doctest::Approx(0.667).epsilon(0.001));
    Sheet mean = sheet;
    mean.combine.rule = Rule::arithmetic;
    for (Factor& factor : mean.factors) factor.weight = 1;
    CHECK(std::round(score(mean, pcob_values(20, "WD", "CHT", 0.90, 55)).score * 1000) == 442);
  }
  SUBCASE("open water is excluded, with its reason") {
    const CellScore c = score(sheet, pcob_values(14, "OW", "DOL", 1.02, 35));
    CHECK(c.outcome == Outcome::excluded);
    CHECK(c.reason == "cover OW");
  }
  SUBCASE("no moisture data is no score, not 0") {
    Values values = pcob_values(14, "GL", "DOL", 1.02, 35);
    values["moisture"] = nothing();
    const CellScore d = score(sheet, values);
    CHECK(d.outcome == Outcome::no_score);
    CHECK(d.reason == "moisture");
    CHECK(d.factors.size() == 4);
  }
}

// Ashley & MacDonald 2009, HEP presentation, black-capped chickadee worked example; model Schroeder 1983,
// FWS/OBS-82/10.37; method US Fish & Wildlife Service 1980, ESM 102. Food = sqrt(V1 V2), HSI = min(food, V3).
TEST_CASE("The handbook's chickadee: a geometric mean within the lowest of the parts") {
  Sheet sheet = plain(Rule::lowest, {1, 1, 1});
  Group food;
  food.name = "food";
  food.combine.rule = Rule::geometric;
  sheet.groups = {food};
  sheet.factors[0].group = sheet.factors[1].group = "food";
  const CellScore cell = score(sheet, plain_values({0.5, 0.7, 0.4}));
  CHECK(cell.score == doctest::Approx(0.4).epsilon(1e-9));
  CHECK(held_by(sheet, cell) == "f2");
  CHECK(100 * cell.score == doctest::Approx(40).epsilon(1e-9));  // habitat units of 100 acres
  const CellScore rich = score(sheet, plain_values({0.5, 0.7, 1.0}));
  CHECK(std::abs(rich.score - 0.591608) < 1e-6);
  CHECK(held_by(sheet, rich) == "f0");
}

// US Fish & Wildlife Service 1981, ESM 103 gives the rules; the numbers are recomputed from V = 0.3, 0.6,
// 0.9.
TEST_CASE("Minimum, geometric and arithmetic means as the handbook defines them") {
  const Values v = plain_values({0.3, 0.6, 0.9});
  CHECK(score(plain(Rule::lowest, {1, 1, 1}), v).score == doctest::Approx(0.3).epsilon(1e-12));
  CHECK(std::abs(score(plain(Rule::geometric, {1, 1, 1}), v).score - 0.5451362) < 1e-6);
  CHECK(std::abs(score(plain(Rule::arithmetic, {1, 1, 1}), v).score - 0.6) < 1e-6);
  CHECK(std::abs(score(plain(Rule::geometric, {2, 1, 1}), v).score - 0.4695254) < 1e-6);
  Sheet compensatory = plain(Rule::arithmetic, {2, 1});
  CHECK(std::abs(score(compensatory, plain_values({0.3, 0.6})).score - 0.4) < 1e-6);
  const Values zero = plain_values({0.0, 0.6, 0.9});
  CHECK(score(plain(Rule::geometric, {1, 1, 1}), zero).score == 0);
  CHECK(score(plain(Rule::lowest, {1, 1, 1}), zero).score == 0);
  CHECK(score(plain(Rule::arithmetic, {1, 1, 1}), zero).score == doctest::Approx(0.5));
}

TEST_CASE("A known exclusion wins over missing data, and classes come before masks") {
  Sheet sheet = pcob();
  sheet.masks = {{"elevation", 260.0, {}, "", {}}, {"range", {}, 0.5, "outside its range", {}}};
  Values values = pcob_values(14, "OW", "DOL", 1.02, 35);
  values["moisture"] = nothing();
  values["elevation"] = number(260);
  values["range"] = number(1);
  CHECK(score(sheet, values).reason == "cover OW");
  values["cover"] = code("GL");
  const CellScore high = score(sheet, values);
  CHECK(high.outcome == Outcome::excluded);
  CHECK(high.reason == "elevation at or above 260");
  values["elevation"] = nothing();
  CHECK(score(sheet, values).reason == "moisture");
  values["moisture"] = number(14);
  CHECK(score(sheet, values).outcome == Outcome::no_score);
  CHECK(score(sheet, values).reason == "elevation");
  values["range"] = number(0);
  CHECK(score(sheet, values).reason == "outside its range (range)");
  values["range"] = number(1);
  values["elevation"] = number(259.9);
  CHECK(score(sheet, values).outcome == Outcome::scored);
}

TEST_CASE("A modifying factor without data leaves its weight to the others, and it is said") {
  const Sheet sheet = pcob();
  Values values = pcob_values(20, "WD", "CHT", 0.90, 55);
  values["canopy"] = nothing();
  const CellScore cell = score(sheet, values);
  CHECK(cell.outcome == Outcome::scored);
  CHECK(cell.reweighted);
  CHECK(cell.score == doctest::Approx(std::pow(0.4, 0.6) * std::pow(2.0 / 3.0, 0.4)));
  values["heat"] = nothing();
  const CellScore bare = score(sheet, values);
  CHECK(bare.reweighted);
  CHECK(bare.score == doctest::Approx(0.4));  // nothing modifies: the score is L
}

TEST_CASE("Without limiting factors the graded score is that of the modifying ones") {
  const Sheet sheet = plain(Rule::graded, {2, 1}, Role::modifying);
  CHECK(score(sheet, plain_values({0.25, 0.8})).score == doctest::Approx(std::cbrt(0.25 * 0.25 * 0.8)));
  Values values = plain_values({0.25, 0.8});
  values["f0"] = values["f1"] = nothing();
  CHECK(score(sheet, values).outcome == Outcome::no_score);
  CHECK(score(sheet, values).reason == "f0");
}

TEST_CASE("The class layer decides what is excluded, so without it there is no score in any role") {
  Sheet sheet = pcob();
  sheet.factors[1].role = Role::modifying;
  Values values = pcob_values(14, "GL", "DOL", 1.02, 35);
  values["cover"] = nothing();
  CHECK(score(sheet, values).outcome == Outcome::no_score);
  CHECK(score(sheet, values).reason == "cover");
}

TEST_CASE("A class value no legend names is no score and says which value") {
  Values values = pcob_values(14, "GL", "DOL", 1.02, 35);
  values["cover"] = LayerValue{57.0, "", false};
  const CellScore cell = score(pcob(), values);
  CHECK(cell.outcome == Outcome::no_score);
  CHECK(cell.reason == "cover (value 57 is in no legend)");
}

TEST_CASE("A class the sheet does not list is an error, never 0") {
  Sheet sheet = pcob();
  std::get<ClassTable>(sheet.factors[1].response).otherwise.reset();
  sheet.factors[1].place = {"PCOB.toml", 14, ""};
  CHECK_THROWS_AS((void)score(sheet, pcob_values(14, "WM", "DOL", 1.02, 35)), InputError);
  try {
    (void)score(sheet, pcob_values(14, "WM", "DOL", 1.02, 35));
  } catch (const InputError& error) {
    const std::string what = error.what();
    CHECK(what.find("PCOB.toml:14") != std::string::npos);
    CHECK(what.find("WM") != std::string::npos);
  }
}

TEST_CASE("The floor lifts modifying factors only, and only where it decides") {
  Sheet sheet = pcob();
  sheet.combine.floor = 0.05;
  const CellScore dark = score(sheet, pcob_values(14, "GL", "DOL", 1.02, 80));
  CHECK(dark.score == doctest::Approx(std::pow(0.05, 0.4 * 2 / 3)));
  CHECK(dark.factors[3].floored);
  CHECK(dark.factors[3].response == 0.05);
  CHECK_FALSE(dark.factors[4].floored);
  CHECK(score(sheet, pcob_values(2, "GL", "DOL", 1.02, 35)).score == 0);
  sheet.combine.floor.reset();
  CHECK(score(sheet, pcob_values(14, "GL", "DOL", 1.02, 80)).score == 0);
}

TEST_CASE("A tie holds down by the factor that comes first, and full marks by nothing") {
  const Sheet sheet = plain(Rule::lowest, {1, 1, 1});
  CHECK(held_by(sheet, score(sheet, plain_values({0.5, 0.2, 0.2}))) == "f1");
  CHECK(held_by(sheet, score(sheet, plain_values({1, 1, 1}))) == "nothing");
  Sheet grouped = sheet;
  Group late;
  late.name = "late";
  late.combine.rule = Rule::lowest;
  grouped.groups = {late};
  grouped.factors[0].group = grouped.factors[2].group = "late";
  CHECK(held_by(grouped, score(grouped, plain_values({0.2, 0.2, 0.9}))) == "f0");
}

TEST_CASE("An arithmetic mean is held down by the largest weighted shortfall") {
  const Sheet sheet = plain(Rule::arithmetic, {1, 4});
  CHECK(held_by(sheet, score(sheet, plain_values({0.1, 0.7}))) == "f1");
  CHECK(held_by(sheet, score(sheet, plain_values({0.1, 0.9}))) == "f0");
}

TEST_CASE("Groups nest, and a group of which nothing is left drops out or denies the score by its role") {
  Sheet sheet = plain(Rule::graded, {1, 1, 3, 1});
  Group light;
  light.name = "light";
  light.role = Role::modifying;
  light.weight = 2;
  light.combine.rule = Rule::arithmetic;
  Group shade;
  shade.name = "shade";
  shade.within = "light";
  shade.role = Role::modifying;
  shade.combine.rule = Rule::geometric;
  sheet.groups = {light, shade};
  sheet.factors[1].group = "light";
  sheet.factors[2].group = sheet.factors[3].group = "shade";
  for (std::size_t f : {1U, 2U, 3U}) sheet.factors[f].role = Role::modifying;
  const double within = std::pow(0.5 * 0.5 * 0.5 * 0.9, 0.25), g = (0.8 + within) / 2;
  const CellScore cell = score(sheet, plain_values({0.9, 0.8, 0.5, 0.9}));
  CHECK(cell.score == doctest::Approx(std::pow(0.9, 0.6) * std::pow(g, 0.4)));
  CHECK(held_by(sheet, cell) == "f2");

  Values values = plain_values({0.9, 0.8, 0.5, 0.9});
  values["f2"] = values["f3"] = nothing();
  CHECK(score(sheet, values).score == doctest::Approx(std::pow(0.9, 0.6) * std::pow(0.8, 0.4)));
  CHECK(score(sheet, values).reweighted);
  values["f1"] = nothing();
  CHECK(score(sheet, values).score == doctest::Approx(0.9));
  sheet.groups[0].role = Role::limiting;
  CHECK(score(sheet, values).outcome == Outcome::no_score);
  CHECK(score(sheet, values).reason == "f1");
}

TEST_CASE("Percent rounds half up and stays within 0 and 100") {
  CHECK(percent(0.0) == 0);
  CHECK(percent(0.004999) == 0);
  CHECK(percent(0.125) == 13);
  CHECK(percent(0.914) == 91);
  CHECK(percent(1.0) == 100);
  CHECK(percent(1.0 + 1e-12) == 100);
}

TEST_CASE("A sheet's layers are named once, in its order") {
  CHECK(layers_of(ptub()) == std::vector<std::string>{"moisture", "cover", "canopy", "heat", "elevation"});
}

}  // namespace rule_test
