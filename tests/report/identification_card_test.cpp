// Identification cards as markup: well-formed, escaped, complete, and of no more than a pocket card each.
#include "swardline/report/identification_card.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>

#include "svg.hpp"
#include "swardline/base/text.hpp"
#include "swardline/report/card_layout.hpp"
#include "swardline/season/days.hpp"

namespace identification_card_test {

using namespace swardline;
using namespace report_test;

namespace {

const std::string hostile =
    "<script>alert(1)</script> \"quoted\" 'it' & \xE2\x80\xAE"
    "drow\xE2\x80\x8F \xF0\x9F\x8C\xB8 ";

Character character(const std::string& name, const std::string& look, Ease ease,
                    const std::vector<std::string>& states) {
  Character made;
  made.name = name;
  made.look = look;
  made.ease = ease;
  for (const std::string& each : states) made.states.push_back({each, each + " words"});
  made.seen = {PlantPart::flower};
  return made;
}

Season made_season() {
  Season season;
  season.traits.characters = {character("throat", "the throat", Ease::at_a_glance, {"even", "swollen"}),
                              character("lines", "the lines", Ease::lens, {"none", "faint"})};
  return season;
}

CardPlant card_plant(const std::string& code, bool likely = true) {
  CardPlant plant;
  plant.code = likely ? code : "";
  plant.name = "Name of " + code;
  plant.common = "common " + code;
  plant.likely = likely;
  return plant;
}

/// Throat: even is AAA; swollen goes on to lines: none is BBB, faint is CCC or the look-alike.
Card made_card() {
  Card card;
  card.site = "ANL";
  card.site_name = "Arnley Meadow";
  card.from = day_of(2027, 5, 20);
  card.until = day_of(2027, 5, 31);
  card.plants = {card_plant("AAA"), card_plant("BBB"), card_plant("CCC"), card_plant("DDD", false)};
  card.plants[3].warning = "poisonous: do not touch it";
  card.characters = {0, 1};
  card.looks = {{0, {{{0}, 1}, {{1}, 2}}, {0, 1, 2, 3}},
                {Look::end, {}, {0}},
                {1, {{{0}, 3}, {{1}, 4}}, {1, 2, 3}},
                {Look::end, {}, {1}},
                {Look::end, {}, {2, 3}}};
  card.inseparable = {{2, 3, "flower size would tell them", "it is not DDD", photo_rule}};
  return card;
}

std::string text_of(const std::string& markup) {
  std::string text;
  for (const Element& each : elements_of(markup)) text += each.text + "\n";
  return text;
}

std::size_t count_of(const std::string& text, const std::string& part) {
  std::size_t count = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++count;
  return count;
}

}  // namespace

TEST_CASE("a card shows its days, its looks with numbers and answers, and where they lead") {
  const std::string markup = card_markup(made_card(), made_season());
  const std::string text = text_of(markup);
  for (const char* said :
       {"ANL Arnley Meadow", "visit 1, 20–31 May", "the throat", "even words", "swollen words", "the lines",
        "none words", "AAA", "common AAA", "Never taste any plant.", "poisonous: do not touch it"})
    CHECK_MESSAGE(text.find(said) != std::string::npos, said, "\n", text);
  CHECK(markup.find("(use a lens)") != std::string::npos);
  CHECK(markup.find("aria-label=\"go to 2\"") != std::string::npos);
  CHECK(markup.find("Cannot be told apart now:") != std::string::npos);
  CHECK(
      text.find("CCC and common DDD: flower size would tell them. If a flower is open it is not DDD; if none "
                "is, write “not certain” and photograph the views listed at the foot of this card.") !=
      std::string::npos);
  CHECK(text.find(photo_rule) != std::string::npos);
  // The look-alike is marked as one, in the answer and among the names.
  const auto elements = elements_of(markup);
  CHECK(all(elements, "span", "is other").size() == 2);
  CHECK(all(elements, "article", "idcard").size() == 1);
}

TEST_CASE("the warning stands first on the card") {
  const std::string markup = card_markup(made_card(), made_season());
  CHECK(markup.find("class=\"warn\"") < markup.find("class=\"ask\""));
}

TEST_CASE("a plant without characters is said to have none") {
  Card card = made_card();
  card.plants[1].no_traits = true;
  card.plants[2].no_traits = true;
  card.plants[2].tell = "three veins";
  const std::string text = text_of(card_markup(card, made_season()));
  CHECK(text.find("BBB? and CCC?: nothing is recorded to tell them by.") != std::string::npos);
  CHECK(text.find("CCC?; the species' sheet says only: three veins.") != std::string::npos);
}

TEST_CASE("where there is nothing to look at the card says why") {
  Card card = made_card();
  card.looks.clear();
  CHECK(text_of(card_markup(card, made_season())).find("Nothing that can be seen") != std::string::npos);
  card.plants = {card_plant("AAA")};
  card.inseparable.clear();
  CHECK(text_of(card_markup(card, made_season())).find("Only AAA is likely here") != std::string::npos);
}

TEST_CASE("a tree too long for a card goes on over more, and every look is there once") {
  Season season = made_season();
  Card card = made_card();
  card.plants.clear();
  card.looks.clear();
  card.inseparable.clear();
  for (int i = 0; i < 25; ++i) {
    season.traits.characters.push_back(character("c", "look at part " + std::to_string(i) + " of it, closely",
                                                 Ease::close_look, {"one", "another"}));
    card.plants.push_back(card_plant("P" + std::to_string(i)));
    const std::size_t at = card.looks.size();
    card.looks.push_back({season.traits.characters.size() - 1, {{{0}, at + 1}, {{1}, at + 2}}, {}});
    card.looks.push_back({Look::end, {}, {std::size_t(i)}});
  }
  card.looks.push_back({Look::end, {}, {0}});
  const std::string markup = card_markup(card, season);
  const std::size_t cards = count_of(markup, "<article");
  CHECK(cards > 2);
  CHECK(count_of(markup, " of " + std::to_string(cards) + "</span>") == cards);
  for (int i = 0; i < 25; ++i) CHECK(count_of(markup, "look at part " + std::to_string(i) + " of it") == 1);
  CHECK(count_of(markup, "Never taste any plant.") == cards);
  // What nothing tells is named on each of them.
  card.plants[3].no_traits = true;
  const std::string unsure = card_markup(card, season);
  CHECK(count_of(unsure, "P3?: nothing is recorded to tell it by, so it may be this plant too.") ==
        count_of(unsure, "<article"));
}

TEST_CASE("type grows as far as the words leave room, and a long title takes two lines") {
  const auto points = [](const std::string& markup) {
    const std::size_t at = markup.find("font-size:", markup.find("class=\"body\""));
    return std::stod(markup.substr(at + std::string("font-size:").size()));
  };
  Card card = made_card();
  card.plants = {card_plant("AAA"), card_plant("BBB")};
  card.looks = {{0, {{{0}, 1}, {{1}, 2}}, {0, 1}}, {Look::end, {}, {0}}, {Look::end, {}, {1}}};
  card.inseparable.clear();
  const std::string few = card_markup(card, made_season());
  CHECK(points(few) == largest_card_points);
  CHECK(count_of(few, "<article") == 1);
  Card full = card;
  while (count_of(card_markup(full, made_season()), "<article") == 1)
    full.plants.push_back(card_plant("more" + std::to_string(full.plants.size()), false));
  full.plants.pop_back();
  const std::string more = card_markup(full, made_season());
  CHECK(full.plants.size() > 10);
  CHECK(points(more) < points(few));
  CHECK(points(more) >= smallest_card_points);
  // All words of the title, though they take more than a line.
  card.site_name = "Wide meadow behind the third gate by the old mill, upper part and lower part";
  const std::string titled = card_markup(card, made_season());
  const std::size_t head = titled.find("<h2"), body = titled.find("</h2>");
  std::string title;
  for (const Element& each : all(elements_of(titled.substr(head, body + 5 - head)), "bdi"))
    title += each.text + " ";
  CHECK(title == "ANL " + card.site_name + " ");
}

TEST_CASE("names fill up the columns that looks leave, and looks keep their order") {
  const auto block = [](const std::string& word, double mm, bool anywhere) {
    return CardBlock{{{word, mm}}, anywhere};
  };
  const auto cards = fill_cards({block("a", 30, false), block("x", 9, true), block("b", 30, false),
                                 block("y", 9, true), block("z", 9, true), block("c", 10, false)},
                                40, true);
  REQUIRE(cards.size() == 2);
  CHECK(cards[0].left == "ax");
  CHECK(cards[0].right == "bc");
  CHECK(cards[1].left == "yz");
  const auto more = fill_cards({block("a", 30, false), block("x", 9, true), block("y", 9, true)}, 40, true);
  REQUIRE(more.size() == 1);
  CHECK(more[0].right == "y");
  const auto in_order =
      fill_cards({block("a", 30, false), block("x", 12, true), block("y", 9, true)}, 40, false);
  REQUIRE(in_order.size() == 1);
  CHECK(in_order[0].right == "xy");
}

TEST_CASE("whether a flower is open is asked in words") {
  Card card = made_card();
  card.looks[0] = {Look::in_flower, {{{0}, 1}, {{1, 2}, 2}}, {0, 1, 2, 3}};
  card.plants[2].flowering = "past flowering";
  const std::string text = text_of(card_markup(card, made_season()));
  CHECK(text.find("Look at the whole stem: is a flower open on it?") != std::string::npos);
  CHECK(text.find("common CCC, past flowering") != std::string::npos);
}

TEST_CASE("hostile text in every field is shown as text") {
  const std::string longest = hostile + std::string(300, 'x');
  Season season = made_season();
  for (Character& each : season.traits.characters) {
    each.name = each.look = longest;
    for (CharacterState& state : each.states) state.words = longest;
  }
  Card card = made_card();
  card.site = card.site_name = longest;
  for (CardPlant& each : card.plants) {
    each.name = each.common = each.warning = each.tell = longest;
    if (!each.code.empty()) each.code = longest;
    each.no_traits = true;
  }
  for (Inseparable& each : card.inseparable) each.why = each.with_flower = each.photograph = longest;
  card.notes = {longest};
  const std::string page = cards_page(season, {card, Card{}}, longest);
  CHECK(page.find("<script") == std::string::npos);
  CHECK(page.find("&lt;script&gt;") != std::string::npos);
  CHECK(page.find("\xF0\x9F\x8C\xB8") != std::string::npos);
  const std::filesystem::path file = std::filesystem::temp_directory_path() / "swardline-card-test.html";
  std::ofstream(file) << page;
  CHECK(well_formed(file));
  std::filesystem::remove(file);
  CHECK_MESSAGE(page.find("\xE2\x80\xAE") == std::string::npos, "turns the text after it");
}

TEST_CASE("eight cards make a sheet, nine make two; no card is said") {
  const Season season = made_season();
  const std::string eight = cards_page(season, std::vector<Card>(8, made_card()), "Cards");
  CHECK(count_of(eight, "<div class=\"sheet\">") == 1);
  CHECK(count_of(cards_page(season, std::vector<Card>(9, made_card()), "Cards"), "<div class=\"sheet\">") ==
        2);
  CHECK(cards_page(season, {}, "Cards").find("there is no card") != std::string::npos);
}

TEST_CASE("lines of text are broken at blanks, and within words that are wider than a line") {
  const Type type{7.5, true};
  CHECK(text_lines("short", 40, type) == 1);
  CHECK(text_lines("", 40, type) == 1);
  const double word = text_width_mm("word", type);
  CHECK(text_lines("word word word", word * 1.1, type) == 3);
  CHECK(text_lines(std::string(100, 'n'), text_width_mm(std::string(30, 'n'), type), type) == 4);
  CHECK(shortened("a\xC3\xA4"
                  "b",
                  2) == "a\xC3\xA4…");
  CHECK(shortened("ab", 2) == "ab");
}

}  // namespace identification_card_test
