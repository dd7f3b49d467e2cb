// Identification cards of the demo and of made seasons.
#include <doctest/doctest.h>

#include <algorithm>
#include <bit>
#include <set>

#include "../season/season_folder.hpp"
#include "swardline/base/text.hpp"
#include "swardline/field/identification.hpp"
#include "swardline/season/days.hpp"

namespace cards_test {

using namespace swardline;

namespace {

Season demo() {
  Flags flags;
  Season season = read_season(
      std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "ambry-valley" / "plan.toml", flags);
  REQUIRE_FALSE(flags.stopped());
  return season;
}

std::size_t sheet_of(const Season& season, const std::string& code) {
  for (std::size_t i = 0; i < season.sheets.size(); ++i)
    if (season.sheets[i].code == code) return i;
  FAIL("no sheet ", code);
  return 0;
}

SiteSpecies site_with(const Season& season, const std::string& site, const std::vector<std::string>& likely,
                      const std::vector<std::string>& possible = {}) {
  SiteSpecies species;
  species.site = site;
  species.name = "Arnley Meadow";
  double weight = 1;
  for (const std::string& code : likely) species.likely.push_back({sheet_of(season, code), weight -= 0.1});
  for (const std::string& code : possible) species.possible.push_back(sheet_of(season, code));
  return species;
}

Visit visit_of(const std::string& site, Day from, Day until) {
  Visit visit;
  visit.site = site;
  visit.from = from;
  visit.until = until;
  visit.open = {{from, until, ""}};
  return visit;
}

const Day may_20 = day_of(2027, 5, 20), may_31 = day_of(2027, 5, 31);

const CardPlant* plant(const Card& card, const std::string& called) {
  for (const CardPlant& each : card.plants)
    if (each.code == called || each.name == called) return &each;
  return nullptr;
}

/// Which states a plant of the card shows on all days of the card, by this file's own reading of the rules.
std::vector<std::set<std::string>> shown_by(const Season& season, const Card& card, const CardPlant& of) {
  const std::map<std::string, std::vector<std::string>>* traits = nullptr;
  std::optional<std::pair<DayOfYear, DayOfYear>> window;
  for (const Sheet& sheet : season.sheets)
    if (!of.code.empty() && sheet.code == of.code) traits = &sheet.traits, window = sheet.window;
  for (const OtherPlant& other : season.traits.plants)
    if (of.code.empty() && other.name == of.name) traits = &other.traits, window = other.window;
  std::vector<std::set<std::string>> shown;
  for (const Character& character : season.traits.characters) {
    bool seen = true;
    for (Day day = card.from; day <= card.until; ++day) {
      PlantPart stage = PlantPart::flower;
      if (window) {
        const DayWindow days = window_in(*window, 2027, season.plan.returns.shift_days);
        stage = day < days.from ? PlantPart::bud : day > days.until ? PlantPart::capsule : PlantPart::flower;
      }
      const auto has = [&](PlantPart part) {
        return std::find(character.seen.begin(), character.seen.end(), part) != character.seen.end();
      };
      seen = seen && (has(PlantPart::leaves) || has(stage));
    }
    std::set<std::string> states;
    if (seen && traits && traits->contains(character.name))
      states.insert(traits->at(character.name).begin(), traits->at(character.name).end());
    shown.push_back(states);
  }
  return shown;
}

int effort_of_set(const Season& season, const std::vector<std::size_t>& set) {
  int sum = 0;
  for (const std::size_t c : set) {
    const Ease ease = season.traits.characters[c].ease;
    sum += ease == Ease::at_a_glance ? 1 : ease == Ease::close_look ? 2 : 4;
  }
  return sum;
}

/// Holds a card to all subsets of the characters.
void check_by_force(const Season& season, const Card& card) {
  CAPTURE(card.site);
  CAPTURE(short_date(card.from));
  std::vector<std::vector<std::set<std::string>>> shown;
  for (const CardPlant& each : card.plants) shown.push_back(shown_by(season, card, each));
  std::set<std::pair<std::size_t, std::size_t>> inseparable;
  std::vector<std::uint64_t> pairs;
  for (std::size_t a = 0; a < card.plants.size(); ++a) {
    for (std::size_t b = a + 1; b < card.plants.size(); ++b) {
      if (!card.plants[a].likely && !card.plants[b].likely) continue;
      std::uint64_t tells = 0;
      for (std::size_t c = 0; c < season.traits.characters.size(); ++c) {
        const auto &x = shown[a][c], &y = shown[b][c];
        const bool common = std::any_of(x.begin(), x.end(), [&](const auto& s) { return y.contains(s); });
        if (!x.empty() && !y.empty() && !common) tells |= std::uint64_t{1} << c;
      }
      if (tells)
        pairs.push_back(tells);
      else if (!card.plants[a].no_traits && !card.plants[b].no_traits)
        inseparable.insert({a, b});
    }
  }
  std::pair<int, int> least{1000, 1000};
  for (std::uint64_t set = 0; set < std::uint64_t{1} << season.traits.characters.size(); ++set) {
    if (!std::all_of(pairs.begin(), pairs.end(), [&](std::uint64_t pair) { return (pair & set) != 0; }))
      continue;
    std::vector<std::size_t> members;
    for (std::size_t c = 0; c < season.traits.characters.size(); ++c)
      if (set >> c & 1U) members.push_back(c);
    least = std::min(least, {int(members.size()), effort_of_set(season, members)});
  }
  std::uint64_t chosen = 0;
  for (const std::size_t c : card.characters) chosen |= std::uint64_t{1} << c;
  for (const std::uint64_t pair : pairs) CHECK((pair & chosen) != 0);
  CHECK(std::pair(int(card.characters.size()), effort_of_set(season, card.characters)) == least);
  std::set<std::pair<std::size_t, std::size_t>> named;
  for (const Inseparable& each : card.inseparable) {
    named.insert({each.first, each.second});
    CHECK_FALSE(each.why.empty());
    CHECK_FALSE(each.photograph.empty());
  }
  CHECK(named == inseparable);
  // No end of the looks holds a pair that could be told.
  for (const Look& look : card.looks) {
    if (look.character != Look::end) continue;
    for (const std::size_t a : look.plants)
      for (const std::size_t b : look.plants)
        if (a < b && (card.plants[a].likely || card.plants[b].likely)) CHECK(inseparable.contains({a, b}));
  }
}

const std::string made_traits = R"([character.petal]
look = "the petals"
seen = ["flower"]
states.white = "white"
states.red = "red"
[character.leaf]
look = "the leaves"
seen = ["leaves"]
ease = "close look"
states.thin = "thin"
states.thick = "thick"
[character.pod]
look = "the capsules"
seen = ["capsule"]
states.round = "round"
states.long = "long"
)";

/// Species A0, A1, … of these traits and windows.
Season made(const std::vector<std::string>& sheets, const std::string& more = {}) {
  std::map<std::string, std::string> texts;
  for (std::size_t i = 0; i < sheets.size(); ++i) {
    const std::string code = "AA" + std::string(1, char('A' + i));
    texts[code] = "code = \"" + code + "\"\nname = \"Plant " + code + "\"\nscored = false\n" + sheets[i];
  }
  const std::string plan =
      testing::with(testing::sound_plan, "seed = 2027\n", "seed = 2027\ntraits = \"traits.toml\"\n");
  const auto reading = testing::read(plan + "[strata]\nby = [\"site\"]\n", texts, made_traits + more);
  REQUIRE_MESSAGE(!reading.flags.stopped(), reading.all());
  return reading.season;
}

std::vector<Card> cards_of(const Season& season, const std::vector<std::string>& likely, Day from, Day until,
                           const std::vector<std::string>& possible = {}) {
  return identification_cards(season, {site_with(season, "S", likely, possible)},
                              {visit_of("S", from, until)}, 2027);
}

}  // namespace

TEST_CASE("the demo's cards separate all that can be separated, with the fewest and easiest characters") {
  const Season season = demo();
  const std::vector<std::string> codes = {"PALU", "PARK", "PCAL", "PCOB", "PDIG", "PGRA",
                                          "PGRC", "PHIR", "PLAX", "PPAL", "PTEN", "PTUB"};
  struct At {
    std::vector<std::string> likely, possible;
    Day from, until;
  };
  for (const At& at :
       {At{{"PTUB", "PDIG", "PTEN", "PALU"}, {}, may_20, may_31},
        At{{"PLAX", "PCAL", "PDIG", "PPAL"}, {"PARK", "PHIR"}, day_of(2027, 5, 8), day_of(2027, 6, 5)},
        At{codes, {}, day_of(2027, 4, 10), day_of(2027, 7, 5)}}) {
    const auto cards = identification_cards(season, {site_with(season, "PEL", at.likely, at.possible)},
                                            {visit_of("PEL", at.from, at.until)}, 2027);
    REQUIRE_FALSE(cards.empty());
    for (const Card& card : cards) check_by_force(season, card);
  }
}

TEST_CASE("on Arnley Meadow four species are told apart, and soapwort ruled out") {
  const Season season = demo();
  const auto cards =
      identification_cards(season, {site_with(season, "ANL", {"PTUB", "PDIG", "PTEN", "PALU"})},
                           {visit_of("ANL", may_20, may_31)}, 2027);
  REQUIRE(cards.size() == 1);
  CHECK(cards[0].from == may_20);
  CHECK(cards[0].until == may_31);
  CHECK(plant(cards[0], "Saponaria officinalis") != nullptr);
  CHECK(plant(cards[0], "Physostegia") != nullptr);
  CHECK_MESSAGE(plant(cards[0], "Digitalis lanata") == nullptr, "it is known at Pell Road only");
  CHECK(cards[0].plants.front().code == "PTUB");
  double sum = 0;
  for (const CardPlant& each : cards[0].plants) sum += each.weight;
  CHECK(sum == doctest::Approx(1));
  CHECK(cards[0].inseparable.empty());
  CHECK(cards[0].looks_expected > 1);
}

TEST_CASE("out of flower PALU and PDIG are named as inseparable, and what to photograph") {
  const Season season = demo();
  const auto cards = identification_cards(season, {site_with(season, "ANL", {"PDIG", "PALU"})},
                                          {visit_of("ANL", day_of(2027, 5, 1), day_of(2027, 5, 7))}, 2027);
  REQUIRE(cards.size() == 1);
  const auto pair =
      std::find_if(cards[0].inseparable.begin(), cards[0].inseparable.end(), [&](const Inseparable& each) {
        return cards[0].plants[each.first].code == "PDIG" && cards[0].plants[each.second].code == "PALU";
      });
  REQUIRE(pair != cards[0].inseparable.end());
  CHECK(pair->why == "flower size would tell them, but PDIG and PALU may not show it then");
  CHECK(pair->photograph ==
        std::string(
            "the length of a flower; hold the pencil beside it (both show it from 15 May); before that ") +
            photo_rule);
}

TEST_CASE("a foxglove on the verge is on its card with its warning") {
  const Season season = demo();
  const auto cards = identification_cards(season, {site_with(season, "PEL", {"PDIG", "PTUB"})},
                                          {visit_of("PEL", may_20, may_31)}, 2027);
  REQUIRE(cards.size() == 1);
  const CardPlant* foxglove = plant(cards[0], "Digitalis lanata");
  REQUIRE(foxglove != nullptr);
  CHECK(foxglove->warning.find("poisonous") == 0);
  CHECK_FALSE(foxglove->likely);
}

TEST_CASE("weeks that need the same card are one; a character is used only where every day shows it") {
  // In flower from 20 May: the week of 13 to 19 May shows no petals, nor does a week that begins in bud.
  const Season season = made({"window = [\"05-20\", \"06-16\"]\ntraits = { petal = \"white\" }\n",
                              "window = [\"05-20\", \"06-16\"]\ntraits = { petal = \"red\" }\n"});
  const auto cards = cards_of(season, {"AAA", "AAB"}, day_of(2027, 5, 12), day_of(2027, 6, 20));
  REQUIRE(cards.size() == 3);
  CHECK(cards[0].from == day_of(2027, 5, 12));
  CHECK(cards[0].until == day_of(2027, 5, 25));  // 12 to 18 May, and 19 to 25 May that begins in bud
  CHECK(cards[0].characters.empty());
  CHECK(cards[0].looks.empty());
  CHECK(cards[0].inseparable.size() == 1);
  CHECK(cards[1].from == day_of(2027, 5, 26));
  CHECK(cards[1].until == day_of(2027, 6, 15));
  CHECK(cards[1].characters == std::vector<std::size_t>{0});
  CHECK(cards[1].looks_expected == 1);
  CHECK(cards[2].until == day_of(2027, 6, 20));
  CHECK(cards[2].characters.empty());
  CHECK(cards[2].inseparable[0].photograph.find("until 16 Jun") != std::string::npos);
}

TEST_CASE("a season eight days early moves what can be seen; a closed week has no card") {
  Season season = made({"window = [\"05-20\", \"06-16\"]\ntraits = { petal = \"white\" }\n",
                        "window = [\"05-20\", \"06-16\"]\ntraits = { petal = \"red\" }\n"});
  season.plan.returns.shift_days = -8;
  CHECK(cards_of(season, {"AAA", "AAB"}, day_of(2027, 5, 12), day_of(2027, 5, 18))[0].characters.size() == 1);
  Visit visit = visit_of("S", day_of(2027, 5, 12), day_of(2027, 6, 1));
  visit.open = {{day_of(2027, 5, 20), day_of(2027, 5, 21), ""}};
  const auto cards = identification_cards(season, {site_with(season, "S", {"AAA", "AAB"})}, {visit}, 2027);
  REQUIRE(cards.size() == 1);
  CHECK(cards[0].from == day_of(2027, 5, 19));
}

TEST_CASE("a plant of several states goes down several branches, and one with a common state is not told") {
  const Season season = made({"traits = { leaf = [\"thin\", \"thick\"], petal = \"white\" }\n",
                              "traits = { leaf = \"thin\", petal = \"red\" }\n",
                              "traits = { leaf = \"thick\", petal = \"red\" }\n",
                              "traits = { leaf = \"thin\", petal = \"red\" }\n"});
  const auto cards = cards_of(season, {"AAA", "AAB", "AAC", "AAD"}, may_20, may_20 + 6);
  REQUIRE(cards.size() == 1);
  CHECK(cards[0].characters == std::vector<std::size_t>{0, 1});
  REQUIRE(cards[0].looks.front().character == 0);  // petals first: at a glance
  REQUIRE(cards[0].inseparable.size() == 1);
  CHECK(cards[0].plants[cards[0].inseparable[0].first].code == "AAB");
  CHECK(cards[0].plants[cards[0].inseparable[0].second].code == "AAD");
  CHECK(cards[0].inseparable[0].why == "no character that is written of both tells them apart");
  CHECK(cards[0].inseparable[0].photograph == photo_rule);
}

TEST_CASE("a species without traits is said to have none, and holds up nobody else") {
  const Season season = made({"traits = { leaf = \"thin\" }\n", "traits = { leaf = \"thick\" }\n",
                              "[[look_alike]]\nof = \"Rumex\"\ntell = \"sour\"\n"});
  const auto cards = cards_of(season, {"AAA", "AAB", "AAC"}, may_20, may_31);
  REQUIRE(cards.size() == 1);
  CHECK(plant(cards[0], "AAC")->no_traits);
  CHECK_FALSE(plant(cards[0], "AAA")->no_traits);
  REQUIRE(plant(cards[0], "Rumex") != nullptr);
  CHECK(plant(cards[0], "Rumex")->no_traits);
  CHECK(plant(cards[0], "Rumex")->tell == "sour");
  CHECK(cards[0].characters == std::vector<std::size_t>{1});
  CHECK(cards[0].inseparable.empty());
}

TEST_CASE("look-alikes stand on a card where they are possible, whichever sheet names them") {
  const std::string alike = "[[look_alike]]\nof = \"AAA\"\ntell = \"t\"\n";
  const std::string plants =
      "[[plant]]\nname = \"Here\"\nsites = [\"S\"]\n[[plant]]\nname = \"Elsewhere\"\n"
      "sites = [\"T\"]\n[[plant]]\nname = \"Unnamed\"\n";
  const Season season = made({"traits = { leaf = \"thin\" }\n[[look_alike]]\nof = \"Here\"\ntell = \"t\"\n"
                              "[[look_alike]]\nof = \"Elsewhere\"\ntell = \"t\"\n",
                              "traits = { leaf = \"thick\" }\n" + alike, "traits = { leaf = \"thick\" }\n",
                              "traits = { leaf = \"thick\" }\n" + alike},
                             plants);
  const auto cards = cards_of(season, {"AAA"}, may_20, may_31, {"AAB", "AAC"});
  REQUIRE(cards.size() == 1);
  CHECK(plant(cards[0], "AAB") != nullptr);
  CHECK_MESSAGE(plant(cards[0], "AAC") == nullptr, "nobody's look-alike");
  CHECK_MESSAGE(plant(cards[0], "AAD") == nullptr, "not possible there");
  CHECK(plant(cards[0], "Here") != nullptr);
  CHECK(plant(cards[0], "Elsewhere") == nullptr);
  CHECK(plant(cards[0], "Unnamed") == nullptr);
}

TEST_CASE("a site without likely species has no card, nor has a visit to a site nobody knows") {
  const Season season = made({"traits = { leaf = \"thin\" }\n"});
  CHECK(cards_of(season, {}, may_20, may_31).empty());
  CHECK(identification_cards(season, {}, {visit_of("S", may_20, may_31)}, 2027).empty());
  CHECK(training_cards(Season{}).empty());
}

TEST_CASE("the training card has every species in flower and every look-alike") {
  const Season season = demo();
  const auto cards = training_cards(season);
  REQUIRE(cards.size() == 1);
  CHECK(cards[0].plants.size() == 15);
  CHECK(cards[0].from == no_day);
  CHECK(cards[0].notes.empty());
  CHECK_FALSE(cards[0].looks.empty());
  // In flower PALU and PDIG differ in size.
  for (const Inseparable& each : cards[0].inseparable)
    CHECK_FALSE((cards[0].plants[each.first].code == "PALU" && cards[0].plants[each.second].code == "PDIG"));
}

TEST_CASE("marks of Arnley Meadow: one character, one look-alike, the window") {
  Season season = demo();
  const SiteSpecies site = site_with(season, "ANL", {"PTUB", "PDIG", "PTEN", "PALU"});
  auto marks = species_marks(season, site, visit_of("ANL", may_20, may_31), 2027);
  REQUIRE(marks.size() == 4);
  CHECK(marks[0].sheet == sheet_of(season, "PTUB"));
  CHECK(marks[0].mark == "throat: a slender, even tube");
  CHECK(marks[0].rule_out == "PDIG: throat swells suddenly, faint purple lines, glossy leaves");
  CHECK(marks[0].window == "20 May-25 Jun");
  CHECK(marks[2].mark == "colour: lavender");
  CHECK(marks[2].rule_out == "Physostegia: square stem");
  season.plan.returns.shift_days = -8;
  marks = species_marks(season, site, visit_of("ANL", may_20, may_31), 2027);
  CHECK(marks[0].window == "12 May-17 Jun");
  // On the verge the poisonous one goes before the others.
  const SiteSpecies verge = site_with(season, "PEL", {"PDIG", "PTUB"});
  CHECK(species_marks(season, verge, visit_of("PEL", may_20, may_31), 2027)[0].rule_out.find(
            "Digitalis lanata: ") == 0);
}

TEST_CASE("a mark of a species with no character in season is its sheet's own words, or nothing") {
  const Season season =
      made({"window = [\"06-20\", \"07-01\"]\ntraits = { habit = \"tall\", petal = \"white\" }\n", ""});
  const auto marks =
      species_marks(season, site_with(season, "S", {"AAA", "AAB"}), visit_of("S", may_20, may_31), 2027);
  CHECK(marks[0].mark == "habit: tall");
  CHECK(marks[1].mark.empty());
  CHECK(marks[1].window == "any day");
}

}  // namespace cards_test
