// Characters: what is read, and every defect with its place and remedy.
#include "swardline/season/traits.hpp"
#include "season_folder.hpp"

namespace traits_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const std::string sound_traits = R"([character.throat]
look = "the throat of a flower"
seen = ["flower"]
states.swollen = "swells suddenly"
states.even = "even"
[character.sheen]
look = "the upper side of a leaf"
seen = ["leaves", "bud"]
ease = "lens"
states.dull = "dull"
states.glossy = "glossy"
[[plant]]
name = "Saponaria officinalis"
traits = { sheen = ["dull", "glossy"] }
)";
std::string plan_with_traits() {
  return with(sound_plan, "seed = 2027\n", "seed = 2027\ntraits = \"traits.toml\"\n");
}
const std::string sheet_with_traits = sound_sheet + R"([traits]
throat = "even"
sheen = ["dull"]
[[look_alike]]
of = "Saponaria officinalis"
tell = "three veins"
)";

Reading read_characters(const std::string& traits) {
  return read(plan_with_traits(), {{"PTUB", sheet_with_traits}}, traits);
}
Reading read_shown_by(const std::string& sheet) {
  return read(plan_with_traits(), {{"PTUB", sheet}}, sound_traits);
}

}  // namespace

TEST_CASE("characters keep the file's order, and states theirs") {
  const Reading reading = read_characters(sound_traits);
  CHECK(reading.all() == "");
  const Traits& traits = reading.season.traits;
  REQUIRE(traits.characters.size() == 2);
  CHECK(traits.characters[0].name == "throat");
  CHECK(traits.characters[0].look == "the throat of a flower");
  CHECK(traits.characters[0].ease == Ease::at_a_glance);
  CHECK(traits.characters[0].seen == std::vector<PlantPart>{PlantPart::flower});
  REQUIRE(traits.characters[0].states.size() == 2);
  CHECK(traits.characters[0].states[0].name == "swollen");
  CHECK(traits.characters[0].states[1].words == "even");
  CHECK(traits.characters[1].ease == Ease::lens);
  CHECK(traits.characters[1].seen == std::vector<PlantPart>{PlantPart::leaves, PlantPart::bud});
  REQUIRE(traits.plants.size() == 1);
  CHECK(traits.plants[0].traits.at("sheen") == std::vector<std::string>{"dull", "glossy"});
  CHECK_FALSE(traits.plants[0].window);
}

TEST_CASE("defects of a file of characters") {
  struct Wrong {
    std::string from, to, said;
  };
  for (const Wrong& each : std::vector<Wrong>{
           {"look = \"the throat of a flower\"\n", "",
            "STOP traits.toml:1: [character.throat] look is missing. Write it like look = \"the throat of a "
            "flower, from the side\"."},
           {"seen = [\"flower\"]\n", "",
            "STOP traits.toml:1: [character.throat] seen is missing. Write it like seen = [\"flower\"]."},
           {"seen = [\"flower\"]", "seen = [\"fruit\"]",
            "STOP traits.toml:3: [character.throat] seen: 'fruit' is not known. Write some of leaves, bud, "
            "flower and capsule."},
           {"seen = [\"flower\"]", "seen = []",
            "STOP traits.toml:3: [character.throat] seen names nothing. Write what must be there to see it: "
            "seen = [\"flower\"]."},
           {"ease = \"lens\"", "ease = \"glance\"",
            "STOP traits.toml:9: [character.sheen] ease = \"glance\" is not known. Write one of: at a "
            "glance, close look and lens."},
           {"states.swollen = \"swells suddenly\"\n", "",
            "STOP traits.toml:4: [character.throat] has one state, and nothing can be told by it. Write at "
            "least two, like states.even = \"a slender, even tube\"."},
           {"[[plant]]\n", "[[plant]]\ncolour = 1\n",
            "STOP traits.toml:13: unknown key 'colour'. Known here: name, common, window, sites, warning and "
            "traits."},
           {"[[plant]]\n", "[[plant]]\nname = \"Saponaria officinalis\"\n[[plant]]\n",
            "STOP traits.toml:15: [[plant]] Saponaria officinalis is also in line 12. Join the two."},
           {"[[plant]]\n", "[[plant]]\nwindow = [\"05-01\"]\n",
            "STOP traits.toml:13: [[plant]] window must name two days, the first and the last. Write window "
            "= "
            "[\"05-20\", \"06-25\"]."},
           {"{ sheen = [\"dull\", \"glossy\"] }", "{ sheen = \"gloss\" }",
            "STOP traits.toml:12: Saponaria officinalis: sheen has no state 'gloss'. Did you mean glossy? "
            "Its states are dull and glossy."},
           {"{ sheen = [\"dull\", \"glossy\"] }", "{ sheen = [] }",
            "STOP traits.toml:14: [[plant]] traits sheen names no state. Name what it may show, or leave the "
            "trait out."},
           {"name = \"Saponaria officinalis\"", "name = \"Saponaria oficinalis\"",
            "NOTE traits.toml:12: no sheet names Saponaria oficinalis as a look-alike: it is on no card. Add "
            "a [[look_alike]] of = \"Saponaria oficinalis\" to the sheets of species it is taken for."},
           {"name = \"Saponaria officinalis\"", "name = \"Saponaria oficinalis\"",
            "ASK species/PTUB.toml:13: PTUB: look-alike Saponaria officinalis has no [[plant]] of that name. "
            "Did you mean Saponaria oficinalis?"},
           {"[[plant]]\n", "[[plant]]\nname = \"Penstemon tubaeflorus\"\n[[plant]]\n",
            "ASK traits.toml:12: Penstemon tubaeflorus is a species of this season, in species/PTUB.toml. "
            "Write its states in the sheet, and take it out here."},
           {"[[plant]]\n",
            "[character.stem]\nlook = \"stem\"\nseen = [\"leaves\"]\nstates.round = \"round\"\n"
            "states.square = \"square\"\n[[plant]]\n",
            "NOTE traits.toml:12: [character.stem] no species or plant has a state of it. Write it in the "
            "sheets' [traits], or take it out."},
       }) {
    CAPTURE(each.to);
    CHECK_SAYS(read_characters(with(sound_traits, each.from, each.to)), each.said);
  }
}

TEST_CASE("states and characters that sheets name and nobody wrote") {
  CHECK_SAYS_ONLY(read_shown_by(with(sheet_with_traits, "throat = \"even\"", "throat = \"evn\"")),
                  "STOP species/PTUB.toml:1: PTUB: throat has no state 'evn'. Did you mean even? Its states "
                  "are swollen and even.");
  CHECK_SAYS(read_shown_by(with(sheet_with_traits, "throat = \"even\"", "throte = \"even\"")),
             "ASK species/PTUB.toml:1: PTUB: trait throte is no character: shown as words, not used to tell "
             "apart. Did you mean throat?");
  CHECK_SAYS_ONLY(
      read_shown_by(with(sheet_with_traits, "[traits]\n", "[traits]\nheight_cm = \"40-90\"\n")),
      "NOTE species/PTUB.toml:1: traits that are no characters: height_cm (PTUB). Shown as words, "
      "not used to tell apart. To use one, add it to the file of characters.");
  CHECK_SAYS_ONLY(
      read_shown_by(with(sheet_with_traits, "sheen = [\"dull\"]", "sheen = [\"dull\", \"dull\"]")),
      "ASK species/PTUB.toml:1: PTUB: sheen names the state dull twice. Name it once.");
}

TEST_CASE("more characters or states than a card can weigh are refused") {
  std::string many;
  for (int i = 0; i < 65; ++i)
    many += "[character.c" + std::to_string(i) +
            "]\nlook = \"it\"\nseen = [\"leaves\"]\nstates.a = \"a\"\nstates.b = \"b\"\n";
  CHECK(read_characters(many + sound_traits).all().find("67 characters are written.") != std::string::npos);
  std::string states = "[character.many]\nlook = \"it\"\nseen = [\"leaves\"]\n";
  for (int i = 0; i < 33; ++i) states += "states.s" + std::to_string(i) + " = \"s\"\n";
  CHECK(read_characters(states + sound_traits).all().find("has 33 states.") != std::string::npos);
}

TEST_CASE("a plan that names a file of characters that is not there is stopped") {
  CHECK_SAYS(read(plan_with_traits(), {{"PTUB", sheet_with_traits}}),
             "STOP plan.toml: [season] traits: there is no file traits.toml. Write the characters there, or "
             "take traits out of the plan.");
}

TEST_CASE("without a file of characters any trait is words") {
  CHECK(read_sheet_only(sound_sheet + "[traits]\nthrote = \"even\"\n").all() == "");
}

TEST_CASE("a file of characters that is not TOML is one error with its line") {
  CHECK_THROWS_WITH_AS((void)read_characters(sound_traits + "[["),
                       doctest::Contains("traits.toml:15: is not TOML"), InputError);
}

}  // namespace traits_test
