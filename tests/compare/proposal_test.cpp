#include "swardline/compare/proposal.hpp"

#include <doctest/doctest.h>

#include <fstream>
#include <functional>
#include <limits>

#include "../habitat/fixture.hpp"
#include "swardline/base/error.hpp"
#include "swardline/season/season.hpp"

namespace proposal_test {

using namespace swardline;

namespace {

std::string refused(const std::function<void()>& work) {
  try {
    work();
  } catch (const InputError& error) {
    return error.what();
  }
  return "not refused";
}

constexpr double inf = std::numeric_limits<double>::infinity();

}  // namespace

TEST_CASE("one class gets another score, and nothing else changes") {
  const Sheet now = habitat_test::ptub();
  const Sheet then = with_class_score(now, "cover", "GL", 0.8);
  CHECK(changes_in_words(now, then) == "cover GL 0.3 to 0.8");
  CHECK(changes_in_words(now, now).empty());
  CHECK(changes_in_words(now, with_class_score(now, "cover", "OW", 0.1)) == "cover OW excluded to 0.1");
  CHECK(changes_in_words(now, with_class_score(now, "cover", "WW", 0.1)) == "cover WW 0 to 0.1");
}

TEST_CASE("corners move, open shoulders too") {
  const Sheet now = habitat_test::ptub();
  const Sheet then = with_corners(now, "moisture", {16, 22, 38, inf});
  CHECK(changes_in_words(now, then) == "moisture 20 26 38 46 to 16 22 38 inf");
}

TEST_CASE("what cannot be tried is refused with what can") {
  const Sheet now = habitat_test::ptub();
  CHECK(refused([&] { (void)with_class_score(now, "bedrock", "DOL", 1); }) ==
        "PTUB has no factor 'bedrock'. Its factors are moisture, cover, canopy and heat.");
  CHECK(refused([&] { (void)with_class_score(now, "moisture", "GL", 1); }).find("--set-corners") !=
        std::string::npos);
  CHECK(refused([&] { (void)with_class_score(now, "cover", "GL", 1.2); }).find("from 0 to 1") !=
        std::string::npos);
  CHECK(refused([&] {
          (void)with_corners(now, "cover", {1, 2, 3, 4});
        }).find("no corners") != std::string::npos);
  CHECK(refused([&] {
          (void)with_corners(now, "moisture", {1, 3, 2, 4});
        }).find("corners must rise") != std::string::npos);
  Sheet twice = now;
  twice.factors.push_back(twice.factors[0]);
  CHECK(refused([&] {
          (void)with_corners(twice, "moisture", {1, 2, 3, 4});
        }).find("more than one factor") != std::string::npos);
}

TEST_CASE("weights, roles, masks, factors and the combination are named when they change") {
  const Sheet now = habitat_test::ptub();
  Sheet then = now;
  then.factors[2].weight = 1;
  then.factors[3].role = Role::limiting;
  then.masks[0].keep_below = 300;
  then.combine.limiting_power = 0.5;
  CHECK(changes_in_words(now, then) ==
        "weight of canopy 2 to 1; heat becomes limiting; no longer only elevation below 260; only elevation "
        "below "
        "300; factors combine in another way");
  then = now;
  then.factors.erase(then.factors.begin() + 2);
  CHECK(changes_in_words(now, then) == "without canopy");
  CHECK(changes_in_words(then, now) == "with canopy");
}

TEST_CASE("a proposed sheet is read from anywhere and held against the plan") {
  const habitat_test::Folder folder;
  Season season =
      habitat_test::season_in(folder, {habitat_test::ptub()}, {"moisture", "cover", "canopy", "elevation"});
  const auto read = [&](const std::string& text) {
    std::ofstream(folder / "proposed.toml") << text;
    Flags flags;
    (void)read_proposed_sheet(season, folder / "proposed.toml", flags);
    std::string all;
    for (const Flag& flag : flags.all())
      if (flag.severity == Severity::stop) all += flag.meaning + " " + flag.remedy + "\n";
    return all;
  };
  const std::string head = "code = \"PTUB\"\nname = \"Penstemon tubaeflorus\"\nversion = 4\n";
  CHECK(read(head + "[[factor]]\nlayer = \"moisture\"\ntrapezoid = [16, 22, 38, 46]\n").empty());
  CHECK(read("code = \"PXXX\"\nname = \"Penstemon\"\n[[factor]]\nlayer = \"moisture\"\ntrapezoid = [16, 22, "
             "38, 46]\n")
            .find("no species of this season") != std::string::npos);
  CHECK(read(head + "[[factor]]\nlayer = \"wetness\"\ntrapezoid = [16, 22, 38, 46]\n").find("wetness") !=
        std::string::npos);
  CHECK(read(head + "[[factor]]\nlayer = \"cover\"\nscores = { XX = 1 }\notherwise = 0\n").find("XX") !=
        std::string::npos);
  CHECK(season.sheets[0].version == habitat_test::ptub().version);
}

}  // namespace proposal_test
