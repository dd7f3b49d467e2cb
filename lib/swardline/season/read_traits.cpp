#include "swardline/season/read_traits.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/season/read_shown.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_characters = 63, most_states = 32;  // field/separation.hpp holds 64,
                                                               // one of them whether it is in flower
const std::vector<std::string> part_words = {"leaves", "bud", "flower", "capsule"};
const std::vector<std::string> ease_words = {in_words(Ease::at_a_glance), in_words(Ease::close_look),
                                             in_words(Ease::lens)};

class TraitsReader {
 public:
  TraitsReader(const TomlFile& file, const toml::table& top) : at_(file, top, "", "", 1) {}

  Traits read() {
    if (const auto characters = at_.table("character")) {
      characters->each([&](const std::string& name, const toml::node& node) {
        if (const auto at = characters->chosen(name, node, fmt::format("[character.{}] ", name)))
          read_character(*at, name);
      });
    }
    if (traits_.characters.size() > most_characters)
      at_.stop(at_.place("character"), "too many characters",
               fmt::format("{} characters are written.", traits_.characters.size()),
               fmt::format("Keep the {} that tell most; nobody looks at more.", most_characters));
    for (const TomlTable& each : at_.tables("plant")) read_plant(each);
    std::stable_sort(traits_.plants.begin(), traits_.plants.end(),
                     [](const OtherPlant& a, const OtherPlant& b) { return a.name < b.name; });
    return std::move(traits_);
  }

 private:
  void read_character(const TomlTable& at, const std::string& name) {
    Character character;
    character.name = name;
    character.place = at.place();
    if (at.require("look")) take(at.text("look"), character.look);
    if (const auto ease = at.choice("ease", ease_words)) character.ease = static_cast<Ease>(*ease);
    if (at.require("seen")) read_seen(at, character);
    if (const auto states = at.table("states")) {
      states->each([&](const std::string& state, const toml::node& node) {
        // An unsound text still makes the state known, so that sheets are not flagged for it too.
        character.states.push_back({state, states->text_of(state, node).value_or(state)});
      });
    }
    if (character.states.size() < 2)
      at.stop(at.place("states"), "states",
              fmt::format("has {}, and nothing can be told by it.",
                          character.states.empty() ? "no state" : "one state"),
              "Write at least two, like states.even = \"a slender, even tube\".");
    if (character.states.size() > most_states)
      at.stop(at.place("states"), "states", fmt::format("has {} states.", character.states.size()),
              fmt::format("Join some: {} at most.", most_states));
    traits_.characters.push_back(std::move(character));
  }

  static void read_seen(const TomlTable& at, Character& character) {
    const auto parts = at.texts("seen");
    if (!parts) return;
    for (const std::string& part : *parts) {
      const auto found = std::find(part_words.begin(), part_words.end(), part);
      if (found == part_words.end()) {
        at.stop(at.place("seen"), "unknown word", fmt::format("seen: '{}' is not known.", part),
                "Write some of leaves, bud, flower and capsule.");
      } else {
        character.seen.push_back(static_cast<PlantPart>(found - part_words.begin()));
      }
    }
    if (parts->empty())
      at.stop(at.place("seen"), "empty list", "seen names nothing.",
              "Write what must be there to see it: seen = [\"flower\"].");
  }

  void read_plant(const TomlTable& at) {
    OtherPlant plant;
    plant.place = at.place();
    const bool named = at.require("name");
    take(at.text("name"), plant.name);
    take(at.text("common"), plant.common);
    take(at.text("warning"), plant.warning);
    take(at.texts("sites"), plant.sites);
    plant.window = read_window(at);
    if (const auto traits = at.table("traits")) plant.traits = read_shown_states(*traits);
    if (!named || plant.name.empty()) return;
    const auto same = std::find_if(traits_.plants.begin(), traits_.plants.end(),
                                   [&](const OtherPlant& other) { return other.name == plant.name; });
    if (same != traits_.plants.end()) {
      at.stop(at.place("name"), "named twice",
              fmt::format("{} is also in line {}.", plant.name, same->place.line), "Join the two.");
      return;
    }
    traits_.plants.push_back(std::move(plant));
  }

  TomlTable at_;
  Traits traits_;
};

}  // namespace

const char* in_words(Ease ease) {
  switch (ease) {
    case Ease::close_look:
      return "close look";
    case Ease::lens:
      return "lens";
    default:
      return "at a glance";
  }
}

Traits read_traits(std::string_view text, const std::string& file, Flags& flags) {
  const toml::table top = parse_toml(text, file);
  const TomlFile toml_file{file, traits_key_specs(), flags};
  return TraitsReader(toml_file, top).read();
}

}  // namespace swardline
