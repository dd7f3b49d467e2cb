// Every defect of the panels of a plan, and of kept plots beside what they cannot go with.
#include <algorithm>

#include "message_cases.hpp"

namespace panel_messages_test {

using namespace swardline;
using namespace swardline::testing;

TEST_CASE("panels of a plan") {
  const std::string sound = "\n[panels]\npattern = \"[1-0,1-3]\"\nstart = 2027\nyear = 2028\n";
  const Reading read = read_plan_only(adding_to_plan(sound));
  CHECK(read.all() == "");
  REQUIRE(read.season.plan.panels.parts.size() == 2);
  CHECK(read.season.plan.panels.parts[1].on_off == std::vector<int>{1, 3});
  CHECK(read.season.plan.panels.parts[0].share == 0.5);
  CHECK(read_plan_only(with(adding_to_plan(sound), "[1-0,1-3]", "[1-0, 1-3]")).season.plan.panels.pattern ==
        "[1-0,1-3]");
  const std::vector<Case> cases = {
      {"[1-0,1-3]", "[1-x]", "pattern cannot be read: \"1-x\": 'x' is no number of seasons and not n."},
      {"[1-0,1-3]", "1-0", "\"1-0\" is not in brackets"},
      {"[1-0,1-3]", "[1-0,1-n]", "all are drawn at the start: for how many seasons?"},
      {"start = 2027", "start = 2029", "year = 2028 comes before start = 2029."},
      {"year = 2028", "year = 2028\nshares = [0.5, 0.3]", "shares add up to 0.8, not to 1."},
      {"year = 2028", "year = 2028\nshares = [1]",
       "shares has 1 numbers for 2 parts of the pattern [1-0,1-3]."},
      {"start = 2027\n", "", "start is missing"},
      {"year = 2028", "year = 2028\nyears = 0", "years"},
  };
  for (const Case& each : cases) {
    const std::string all = read_plan_only(with(adding_to_plan(sound), each.from, each.to)).all();
    CHECK_MESSAGE(all.find(each.said) != std::string::npos, all);
    CHECK_MESSAGE(std::count(all.begin(), all.end(), '\n') == 1, all);
  }
  const std::string ended = "\n[panels]\npattern = \"[1-n]\"\nstart = 2027\nyear = 2031\nyears = 4\n";
  const std::string all = read_plan_only(adding_to_plan(ended)).all();
  CHECK_MESSAGE(
      all.find("plots were drawn for the seasons 2027 to 2030, and this is 2031.") != std::string::npos, all);
}

TEST_CASE("panels and kept plots beside what they cannot go with") {
  const std::string panels = "\n[panels]\npattern = \"[1-0]\"\nstart = 2027\nyear = 2028\n";
  const std::string transect = "\n[transect]\nlength_m = 25\nwidth_m = 2\n";
  const auto said_once = [](const std::string& plan, const std::string& said) {
    const std::string all = read_plan_only(plan).all();
    const auto found = all.find(said);
    CHECK_MESSAGE(found != std::string::npos, all);
    CHECK_MESSAGE((found == std::string::npos || all.find(said, found + 1) == std::string::npos), all);
  };
  said_once(with(adding_to_plan(panels + transect), "total = 24", "total = 24\nunit = \"transect\""),
            "panels go with plots only, and the plan asks for transects. Take [panels] out, or "
            "write unit = \"plot\".");
  said_once(with(adding_to_plan(transect), "total = 24",
                 "total = 24\nunit = \"transect\"\nkeep = \"../2027/season.gpkg\""),
            "kept plots go with plots only, and the plan asks for transects.");
  said_once(with(adding_to_plan(panels), "total = 24", "total = 24\nedge = \"grown-frame\""),
            "panels go with plots only, and edge = \"grown-frame\" puts pins outside them.");
}

}  // namespace panel_messages_test
