// Identification cards of the demo and of made seasons.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <set>

#include "../season/season_folder.hpp"
#include "swardline/base/random.hpp"
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

using FlowerDays = std::optional<std::pair<DayOfYear, DayOfYear>>;

const CardPlant* plant(const Card& card, const std::string& called) {
  for (const CardPlant& each : card.plants)
    if (each.code == called || each.name == called) return &each;
  return nullptr;
}

/// A plant of a card at a stage, by this file's own reading of the rules.
struct Met {
  std::size_t plant = 0;
  PlantPart stage = PlantPart::flower;
  bool expected = true;                      ///< on some day of the card; else a stem that is early or late
  std::vector<bool> seen;                    ///< by character
  std::vector<std::set<std::string>> shown;  ///< by character
};

std::map<PlantPart, int> days_by_stage(const Season& season, const Card& card, const FlowerDays& window) {
  std::map<PlantPart, int> days;
  for (Day day = card.from; day <= card.until; ++day) {
    PlantPart stage = PlantPart::flower;
    if (window) {
      const DayWindow open = window_in(*window, 2027, season.plan.returns.shift_days);
      stage = day < open.from ? PlantPart::bud : day > open.until ? PlantPart::capsule : PlantPart::flower;
    }
    ++days[stage];
  }
  return days;
}

std::vector<Met> met_on(const Season& season, const Card& card) {
  struct Known {
    const std::map<std::string, std::vector<std::string>>* traits = nullptr;
    std::map<PlantPart, int> days;
  };
  std::vector<Known> known;
  bool out_of_flower = false;
  for (const CardPlant& of : card.plants) {
    Known one;
    FlowerDays window;
    for (const Sheet& sheet : season.sheets)
      if (!of.code.empty() && sheet.code == of.code) one.traits = &sheet.traits, window = sheet.window;
    for (const OtherPlant& other : season.traits.plants)
      if (of.code.empty() && other.name == of.name) one.traits = &other.traits, window = other.window;
    one.days = days_by_stage(season, card, window);
    known.push_back(one);
    if ((of.likely || !of.no_traits) && (one.days.size() > 1 || !one.days.contains(PlantPart::flower)))
      out_of_flower = true;
  }
  std::vector<Met> met;
  for (std::size_t i = 0; i < known.size(); ++i) {
    if (!card.plants[i].likely && card.plants[i].no_traits) continue;
    for (const PlantPart stage : {PlantPart::flower, PlantPart::bud, PlantPart::capsule}) {
      const bool expected = known[i].days.contains(stage);
      if (!expected && !(out_of_flower && known[i].days.contains(PlantPart::flower))) continue;
      Met one{i, stage, expected, {}, {}};
      for (const Character& character : season.traits.characters) {
        const auto has = [&](PlantPart part) {
          return std::find(character.seen.begin(), character.seen.end(), part) != character.seen.end();
        };
        one.seen.push_back(has(PlantPart::leaves) || has(stage));
        one.shown.emplace_back();
        if (one.seen.back() && known[i].traits && known[i].traits->contains(character.name))
          one.shown.back().insert(known[i].traits->at(character.name).begin(),
                                  known[i].traits->at(character.name).end());
      }
      met.push_back(std::move(one));
    }
  }
  return met;
}

bool to_be_told(const Card& card, const Met& a, const Met& b) {
  return a.plant != b.plant && (a.expected || b.expected) &&
         (card.plants[a.plant].likely || card.plants[b.plant].likely);
}

std::uint64_t telling(const Met& a, const Met& b) {
  std::uint64_t tells = 0;
  for (std::size_t c = 0; c < a.shown.size(); ++c) {
    const auto &x = a.shown[c], &y = b.shown[c];
    const bool common = std::any_of(x.begin(), x.end(), [&](const auto& s) { return y.contains(s); });
    if (!x.empty() && !y.empty() && !common) tells |= std::uint64_t{1} << c;
  }
  return tells;
}

int effort_of_set(const Season& season, const std::vector<std::size_t>& set) {
  int sum = 0;
  for (const std::size_t c : set) {
    const Ease ease = season.traits.characters[c].ease;
    sum += ease == Ease::at_a_glance ? 1 : ease == Ease::close_look ? 2 : 4;
  }
  return sum;
}

using Pairs = std::set<std::pair<std::size_t, std::size_t>>;

/// Goes every way through the looks: nobody is asked what cannot be looked at, an end names who is left and
/// no other, and no two are left that could be told.
void check_looks(const Season& season, const Card& card, std::size_t at, const std::vector<Met>& left,
                 const Pairs& inseparable) {
  const Look& look = card.looks[at];
  std::set<std::size_t> plants;
  for (const Met& each : left) plants.insert(each.plant);
  CHECK(look.plants == std::vector<std::size_t>(plants.begin(), plants.end()));
  if (look.character == Look::end) {
    for (const Met& a : left)
      for (const Met& b : left) {
        if (!to_be_told(card, a, b)) continue;
        CHECK(a.stage == b.stage);
        const bool unwritten = card.plants[a.plant].no_traits || card.plants[b.plant].no_traits;
        CHECK((unwritten || inseparable.contains(std::minmax(a.plant, b.plant))));
      }
    return;
  }
  for (const Look::Branch& branch : look.branches)
    for (const std::size_t state : branch.states) {
      std::vector<Met> next;
      for (const Met& each : left) {
        if (look.character == Look::in_flower) {
          const std::vector stages = {PlantPart::flower, PlantPart::bud, PlantPart::capsule};
          if (each.stage == stages[state]) next.push_back(each);
          continue;
        }
        CHECK(each.seen[look.character]);
        const auto& shown = each.shown[look.character];
        if (shown.empty() || shown.contains(season.traits.characters[look.character].states[state].name))
          next.push_back(each);
      }
      check_looks(season, card, branch.next, next, inseparable);
    }
}

/// Holds a card to all subsets of the characters.
void check_by_force(const Season& season, const Card& card) {
  CAPTURE(card.site);
  CAPTURE(short_date(card.from));
  const std::vector<Met> met = met_on(season, card);
  Pairs inseparable;
  std::set<std::uint64_t> pairs;
  for (const Met& a : met)
    for (const Met& b : met) {
      if (a.plant >= b.plant || a.stage != b.stage || !to_be_told(card, a, b)) continue;
      if (const std::uint64_t tells = telling(a, b))
        pairs.insert(tells);
      else if (!card.plants[a.plant].no_traits && !card.plants[b.plant].no_traits)
        inseparable.insert({a.plant, b.plant});
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
  Pairs named;
  for (const Inseparable& each : card.inseparable) {
    named.insert({each.first, each.second});
    CHECK_FALSE(each.why.empty());
    CHECK_FALSE(each.photograph.empty());
  }
  CHECK(named == inseparable);
  if (!card.looks.empty()) check_looks(season, card, 0, met, inseparable);
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
  CHECK(pair->why == "flower size would tell them, but PDIG and PALU are not in flower yet");
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

TEST_CASE("weeks that need the same card are one; in a week that begins in bud one asks for flowers first") {
  const Season season = made({"window = [\"05-20\", \"06-16\"]\ntraits = { petal = \"white\" }\n",
                              "window = [\"05-20\", \"06-16\"]\ntraits = { petal = \"red\" }\n"});
  const auto cards = cards_of(season, {"AAA", "AAB"}, day_of(2027, 5, 12), day_of(2027, 6, 20));
  REQUIRE(cards.size() == 4);
  for (const Card& card : cards) check_by_force(season, card);
  CHECK(cards[0].from == day_of(2027, 5, 12));
  CHECK(cards[0].until == day_of(2027, 5, 18));
  CHECK(cards[0].characters.empty());
  CHECK(cards[0].looks.empty());
  CHECK(cards[0].inseparable.size() == 1);
  CHECK(cards[0].plants[0].flowering == "not in flower yet");
  CHECK(cards[1].until == day_of(2027, 5, 25));  // the first day in bud
  CHECK(cards[1].characters == std::vector<std::size_t>{0});
  REQUIRE(cards[1].looks.front().character == Look::in_flower);
  CHECK(look_words(season.traits, cards[1].looks.front()).answers == std::vector<std::string>{"yes", "no"});
  REQUIRE(cards[1].inseparable.size() == 1);
  CHECK(cards[1].inseparable[0].why == "petal would tell them, but AAA and AAB may not show it then");
  CHECK(cards[1].inseparable[0].with_flower == "it tells them");
  CHECK(cards[1].plants[0].flowering == "in flower on some of these days");
  CHECK(cards[2].from == day_of(2027, 5, 26));
  CHECK(cards[2].until == day_of(2027, 6, 15));
  CHECK(cards[2].characters == std::vector<std::size_t>{0});
  CHECK(cards[2].looks_expected == 1);
  CHECK(cards[2].plants[0].flowering.empty());
  CHECK(cards[3].until == day_of(2027, 6, 20));
  CHECK(cards[3].looks.front().character == Look::in_flower);
  CHECK(cards[3].inseparable[0].photograph.find("until 16 Jun") != std::string::npos);
}

TEST_CASE("a plant past flowering stands at no end of a question about flowers, and is told by its leaves") {
  const std::string open = "window = [\"05-10\", \"06-20\"]\n", over = "window = [\"04-10\", \"05-10\"]\n";
  const Season season = made({open + "traits = { petal = \"white\", leaf = \"thin\" }\n",
                              open + "traits = { petal = \"red\", leaf = \"thin\" }\n",
                              over + "traits = { petal = \"red\", leaf = \"thick\" }\n",
                              over + "traits = { petal = \"white\", leaf = \"thin\" }\n"});
  const auto cards = cards_of(season, {"AAA", "AAB", "AAC", "AAD"}, may_20, may_20 + 6);
  REQUIRE(cards.size() == 1);
  const Card& card = cards[0];
  check_by_force(season, card);
  CHECK(card.characters == std::vector<std::size_t>{0, 1});
  REQUIRE(card.looks.front().character == Look::in_flower);
  const LookWords asked = look_words(season.traits, card.looks.front());
  CHECK(asked.answers ==
        std::vector<std::string>{"yes", "not yet: buds, or leaves only", "no longer: capsules"});
  const Look& flowers = card.looks[card.looks.front().branches[0].next];
  CHECK(flowers.character == 0);
  for (const Look::Branch& branch : flowers.branches)
    for (const std::size_t plant : card.looks[branch.next].plants)
      CHECK(card.plants[plant].flowering.empty());
  // A single stem of those in flower may be in bud, and nothing else is.
  const Look& buds = card.looks[card.looks.front().branches[1].next];
  CHECK(buds.character == Look::end);
  CHECK(buds.plants == std::vector<std::size_t>{0, 1});
  const Look& capsules = card.looks[card.looks.front().branches[2].next];
  REQUIRE(capsules.character == 1);
  CHECK(card.looks[capsules.branches[0].next].plants == std::vector<std::size_t>{0, 1, 3});
  CHECK(card.looks[capsules.branches[1].next].plants == std::vector<std::size_t>{2});
  REQUIRE(card.inseparable.size() == 2);
  CHECK(card.inseparable[0].why == "nothing recorded of both tells them apart");
  CHECK(card.inseparable[0].with_flower == "it is not AAD");
  CHECK(card.inseparable[1].why == "petal would tell them, but AAD is past flowering");
  CHECK(card.inseparable[1].with_flower == "it is not AAD");
}

TEST_CASE("cards of random seasons are those of brute force, whatever is in flower") {
  RandomStream random(RandomKey(2027, "cards"));
  const auto some = [&](const char* name, const std::vector<std::string>& states) {
    if (random.below(4) == 0) return std::string();
    std::string list;
    for (std::size_t i = 0; i < states.size(); ++i)
      if (i == 0 ? random.below(3) != 0 : list.empty() || random.below(5) == 0)
        list += (list.empty() ? "\"" : ", \"") + states[i] + "\"";
    return std::string(name) + " = [" + list + "]";
  };
  for (int i = 0; i < 60; ++i) {
    std::vector<std::string> sheets;
    for (std::size_t left = 2 + random.below(4); left > 0; --left) {
      std::string traits;
      for (const std::string& each :
           {some("petal", {"white", "red"}), some("leaf", {"thin", "thick"}), some("pod", {"round", "long"})})
        if (!each.empty()) traits += (traits.empty() ? "" : ", ") + each;
      const int from = 1 + int(random.below(20)), until = 10 + int(random.below(20));
      std::string sheet;
      if (random.below(5) != 0) sheet = fmt::format("window = [\"05-{:02}\", \"06-{:02}\"]\n", from, until);
      sheets.push_back(sheet + "traits = { " + traits + " }\n");
    }
    const Season season = made(sheets);
    std::vector<std::string> likely;
    for (std::size_t k = 0; k < sheets.size(); ++k) likely.push_back("AA" + std::string(1, char('A' + k)));
    CAPTURE(i);
    for (const Card& card : cards_of(season, likely, day_of(2027, 5, 3), day_of(2027, 7, 4)))
      check_by_force(season, card);
  }
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
  CHECK(cards[0].inseparable[0].why == "nothing recorded of both tells them apart");
  CHECK(cards[0].inseparable[0].photograph == photo_rule);
  CHECK(cards[0].inseparable[0].with_flower.empty());
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
  check_by_force(season, cards[0]);
  for (const Look& look : cards[0].looks)
    if (look.character == Look::end)
      CHECK_MESSAGE(std::find(look.plants.begin(), look.plants.end(), 2) != look.plants.end(),
                    "at every end");
}

TEST_CASE("a species without traits that is not in flower stands where no flower is open") {
  const Season season = made({"traits = { petal = \"white\" }\n", "traits = { petal = \"red\" }\n",
                              "window = [\"06-10\", \"06-20\"]\n"});
  const auto cards = cards_of(season, {"AAA", "AAB", "AAC"}, may_20, may_20 + 6);
  REQUIRE(cards.size() == 1);
  check_by_force(season, cards[0]);
  REQUIRE(cards[0].looks.front().character == Look::in_flower);
  const auto& branches = cards[0].looks.front().branches;
  CHECK(cards[0].looks[branches[0].next].plants == std::vector<std::size_t>{0, 1});
  CHECK(cards[0].looks[branches[1].next].plants == std::vector<std::size_t>{0, 1, 2});
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

TEST_CASE(
    "a mark is what tells a species from all that may be there, one character or two, or says what is left") {
  const Season season = made({"traits = { petal = \"white\", leaf = \"thin\" }\n",
                              "traits = { petal = \"white\", leaf = \"thick\" }\n",
                              "traits = { petal = \"red\", leaf = \"thin\" }\n",
                              "traits = { petal = \"red\", leaf = \"thin\" }\n"});
  const auto marks = species_marks(season, site_with(season, "S", {"AAA", "AAB", "AAC", "AAD"}),
                                   visit_of("S", may_20, may_31), 2027);
  CHECK(marks[0].mark == "petal: white; leaf: thin");
  CHECK(marks[0].rule_out == "AAB: leaf: thick");
  CHECK(marks[1].mark == "leaf: thick");
  CHECK(marks[2].mark == "petal: red (fits AAD too)");
  CHECK(marks[2].rule_out == "AAD: nothing that can be seen then tells it");
  const auto alone =
      species_marks(season, site_with(season, "S", {"AAC"}), visit_of("S", may_20, may_31), 2027);
  CHECK(alone[0].mark == "petal: red");
  CHECK(alone[0].rule_out == "nothing alike is known here");
}

TEST_CASE("a flower tells a species from one that has none then, and from none that may have one") {
  const std::string open = "window = [\"05-10\", \"06-20\"]\n", same = "traits = { petal = \"red\" }\n";
  const Season season =
      made({open + same, "window = [\"04-10\", \"05-10\"]\n" + same,
            "window = [\"05-25\", \"06-20\"]\ntraits = { petal = \"red\", leaf = \"thin\" }\n",
            "window = [\"04-10\", \"05-10\"]\n"});
  const auto marks = [&](const std::vector<std::string>& likely) {
    return species_marks(season, site_with(season, "S", likely), visit_of("S", may_20, may_31), 2027);
  };
  CHECK(marks({"AAA", "AAB"})[0].mark == "petal: red");
  CHECK(marks({"AAA", "AAB"})[0].rule_out == "AAB: no flower is open on it then");
  CHECK(marks({"AAA", "AAC"})[0].mark == "petal: red (fits AAC too)");
  CHECK(marks({"AAA", "AAD"})[0].mark == "petal: red");
  CHECK(marks({"AAC", "AAD"})[0].mark == "leaf: thin (fits AAD too)");
}

TEST_CASE("a mark of a species with no character in season is its sheet's own words, or nothing") {
  const Season season =
      made({"window = [\"06-20\", \"07-01\"]\ntraits = { habit = \"tall\", petal = \"white\" }\n", ""});
  const auto marks =
      species_marks(season, site_with(season, "S", {"AAA", "AAB"}), visit_of("S", may_20, may_31), 2027);
  CHECK(marks[0].mark == "habit: tall");
  CHECK(marks[1].mark == "no mark recorded for these days");
  CHECK(marks[1].window == "any day");
}

}  // namespace cards_test
