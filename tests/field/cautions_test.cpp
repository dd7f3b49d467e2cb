// What a sheet says can hurt, and what is known of permission.
#include "swardline/field/cautions.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "visit_season.hpp"

namespace cautions_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

struct Sheet1 {
  Season season = story_season();
  SiteSpecies site;
  Sheet1() {
    site = site_with(season, "ANL", "Arnley Meadow", {"PTUB", "PTEN", "PDIG", "PALU"});
    site.habitat = "wet meadow";
    site.classes = {"cover WM", "bedrock ALL"};
  }
  [[nodiscard]] Visit visit() const { return planned(season, {site}).visits.at(0); }
  [[nodiscard]] std::vector<Caution> said() const { return cautions_for(season, site, visit(), 2027); }
  [[nodiscard]] std::string here() const {
    std::string text;
    for (const Caution& one : said())
      if (one.here) text += (one.closure ? "! " : "- ") + one.text + "\n";
    return text;
  }
};

CautionSpec caution(const std::string& text) {
  CautionSpec spec;
  spec.text = text;
  return spec;
}

std::size_t characters(const std::string& text) {
  return std::size_t(std::count_if(text.begin(), text.end(),
                                   [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

}  // namespace

TEST_CASE("what holds everywhere is always said, in short lines, and landowners have the last word") {
  Sheet1 sheet;
  for (const bool linear : {false, true}) {
    sheet.site.linear = linear;
    const std::vector<Caution> said = sheet.said();
    std::string all;
    for (const Caution& one : said) {
      CHECK_MESSAGE(characters(one.text) <= 90, one.text);
      CHECK_FALSE(one.closure);
      all += one.text + "\n";
    }
    for (const char* word : {"Two persons", "30 minutes after the last thunder", "Heat", "Ticks", "snakes",
                             "taste", "poison ivy", "wild parsnip", "wood nettle", "water hemlock",
                             "no picking", "clean of seed", "gates as found", "rising"})
      CHECK_MESSAGE(all.find(word) != std::string::npos, word);
    CHECK((all.find("bridge") != std::string::npos) == linear);
    CHECK(said.back().text == "Landowners, local rules and licensed practice go before this sheet.");
  }
}

TEST_CASE("what ends a visit stands first, at the sites it is for") {
  Sheet1 sheet;
  Plan& plan = sheet.season.plan;
  plan.packet.stop_if = {"smoke is near", ""};
  plan.visits.closures = {{{"ANL"}, {5, 26}, {5, 27}, {}, "mowing", {}}};
  plan.cautions = {caution("a bull is in the pasture"), caution("the river rises")};
  for (CautionSpec& one : plan.cautions) one.stop = true;
  plan.cautions[0].sites = {"ANL"};
  plan.cautions[1].habitats = {"glade"};
  const std::vector<Caution> said = sheet.said();
  REQUIRE(said.size() > 3);
  CHECK(said[0].text == "smoke is near");
  CHECK(said[1].text == "a bull is in the pasture");
  CHECK(said[2].closure);
  CHECK(std::count_if(said.begin(), said.end(), [](const Caution& one) { return one.stop; }) == 2);
}

TEST_CASE("what holds everywhere is not said where the plan says it better") {
  Sheet1 sheet;
  Plan& plan = sheet.season.plan;
  const auto speaks_of = [&](const std::string& words) {
    const auto said = sheet.said();
    return std::any_of(said.begin(), said.end(),
                       [&](const Caution& one) { return one.text.find(words) != std::string::npos; });
  };
  CHECK(speaks_of("Thunder heard"));
  CHECK(speaks_of("Water rising"));
  plan.packet.stop_if = {"there is Lightning"};
  CHECK_FALSE(speaks_of("Thunder heard"));
  // The plan knows which sites flood, and this is none of them.
  plan.cautions = {caution("the river gauge is above 3.1 m")};
  plan.cautions[0].sites = {"HDR"};
  CHECK_FALSE(speaks_of("Water rising"));
  CHECK_FALSE(speaks_of("gauge"));
  // Of thunder what another site is told does not help here.
  plan.packet.stop_if.clear();
  plan.cautions[0].text = "thunder";
  CHECK(speaks_of("Thunder heard"));
  CHECK(speaks_of("Water rising"));
}

TEST_CASE("dated closures first, then permission, then what is of this site") {
  Sheet1 sheet;
  Plan& plan = sheet.season.plan;
  plan.visits.closures = {{{"ANL"}, {5, 26}, {5, 27}, {}, "mowing", {}},
                          {{"ANL"}, {5, 1}, {5, 21}, {}, "flood", {}},
                          {{"ANL"}, {6, 2}, {6, 3}, {}, "hunt", {}}};
  plan.visits.permission["ANL"] = {"yes", DayOfYear{5, 1}, DayOfYear{6, 30}, "call the evening before", {}};
  plan.cautions = {caution("ditch: cross at the culvert")};
  plan.cautions[0].sites = {"ANL"};
  OtherPlant plant;
  plant.name = "Digitalis lanata";
  plant.common = "Grecian foxglove";
  plant.warning = "poisonous: do not touch";
  plant.sites = {"ANL"};
  sheet.season.traits.plants = {plant};
  CHECK(sheet.here() ==
        "! CLOSED 1–21 May: flood.\n! CLOSED 26–27 May: mowing.\n! Permission 1 May–30 Jun only.\n"
        "- ditch: cross at the culvert\n- Grecian foxglove: poisonous: do not touch\n");
  CHECK(sheet.said().front().closure);
  sheet.season.traits.plants[0].sites = {"PEL"};
  CHECK(sheet.here().find("foxglove") == std::string::npos);
  sheet.season.traits.plants[0].sites.clear();  // it may be anywhere
  const auto said = sheet.said();
  CHECK(std::any_of(said.begin(), said.end(), [](const Caution& one) {
    return !one.here && one.text == "Grecian foxglove: poisonous: do not touch";
  }));
}

TEST_CASE("a caution of the plan is said where all that it names fits") {
  Sheet1 sheet;
  auto& cautions = sheet.season.plan.cautions;
  cautions = {caution("text")};
  const auto is_said = [&] {
    const auto said = sheet.said();
    return std::any_of(said.begin(), said.end(), [](const Caution& one) { return one.text == "text"; });
  };
  CHECK(is_said());
  CHECK(sheet.here().empty());  // it holds everywhere
  cautions[0].sites = {"QPR"};
  CHECK_FALSE(is_said());
  cautions[0].sites = {"QPR", "ANL"};
  CHECK(sheet.here() == "- text\n");
  cautions[0].habitats = {"glade"};
  CHECK_FALSE(is_said());
  cautions[0].habitats = {"wet meadow"};
  cautions[0].classes = {{"cover", {"WW", "WM"}}};
  CHECK(is_said());
  cautions[0].classes["bedrock"] = {"DOL"};
  CHECK_FALSE(is_said());
  cautions[0].classes["bedrock"] = {"ALL"};
  CHECK(is_said());
  // The visit is 20–31 May.
  cautions[0].from = {5, 10};
  cautions[0].until = {6, 10};
  CHECK(sheet.here() == "- text\n");
  cautions[0].until = {5, 24};
  CHECK(sheet.here() == "- 10–24 May: text\n");
  cautions[0].from.reset();
  CHECK(sheet.here() == "- until 24 May: text\n");
  cautions[0].until = {5, 19};
  CHECK(sheet.here() == "");
  cautions[0].from = {5, 25};
  cautions[0].until.reset();
  CHECK(sheet.here() == "- from 25 May: text\n");
  cautions[0].from = {11, 1};
  cautions[0].until = {5, 20};  // over New Year
  CHECK(sheet.here() == "- 1 Nov–20 May: text\n");
}

TEST_CASE("permission in words, never a name") {
  Sheet1 sheet;
  Plan& plan = sheet.season.plan;
  const Visit visit = sheet.visit();
  const auto words = [&] { return permission_words(plan, "ANL", visit, 2027); };
  CHECK(words() == "not written down: ask before you enter");
  PermissionSpec& permission = plan.visits.permission["ANL"];
  CHECK(words() == "asked, no answer yet: do not enter");
  permission.status = "no";
  CHECK(words() == "no: do not enter");
  permission.status = "withdrawn";
  CHECK(words() == "withdrawn: do not enter");
  permission.status = "yes";
  CHECK(words() == "yes");
  permission.from = {5, 1};
  CHECK(words() == "yes, from 1 May");
  permission.until = {6, 30};
  permission.note = "call the evening before";
  CHECK(words() == "yes, 1 May–30 Jun; call the evening before");
  permission.from.reset();
  CHECK(words() == "yes, until 30 Jun; call the evening before");
  CHECK(permission_words(plan, "ANL", Visit{}, 2027) == "yes, until 30 Jun; call the evening before");
  CHECK(permission_words(plan, "QPR", Visit{}, 2027) == "not written down: ask before you enter");
}

TEST_CASE("hostile texts stay what they are") {
  Sheet1 sheet;
  const std::string hostile = "<script>alert(1)</script> \"' \xE2\x80\xAE " + std::string(300, 'w');
  sheet.season.plan.cautions = {caution(hostile), caution(hostile)};
  sheet.season.plan.visits.closures = {{{}, {5, 25}, {5, 25}, {}, hostile, {}}};
  const auto said = sheet.said();
  CHECK(said.front().text == "CLOSED 25 May: " + hostile + ".");
  CHECK(std::count_if(said.begin(), said.end(), [&](const Caution& one) { return one.text == hostile; }) ==
        1);
}

}  // namespace cautions_test
