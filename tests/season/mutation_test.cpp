// Damaged plans and sheets: always flags or one error with a line, never anything else.
#include "season_folder.hpp"
#include "swardline/base/random.hpp"

namespace mutation_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

std::string reference(const char* name) {
  return read_whole(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / name);
}

/// One to three small damages, as slips, bad copies and other programs make them.
std::string damaged(std::string text, RandomStream& random) {
  static const std::vector<std::string> pieces = {"inf",
                                                  "-inf",
                                                  "nan",
                                                  "-1",
                                                  "0",
                                                  "1e308",
                                                  "9223372036854775807",
                                                  "99999999999999999999",
                                                  "\"\"",
                                                  "[]",
                                                  "{}",
                                                  "true",
                                                  "[[",
                                                  "]]",
                                                  "=",
                                                  ".",
                                                  "\"",
                                                  "1979-05-27",
                                                  "\xff\xfe",
                                                  "\n",
                                                  "#",
                                                  "[[]]",
                                                  std::string(1, '\0')};
  const auto times = 1 + random.below(3);
  for (std::uint64_t i = 0; i < times && !text.empty(); ++i) {
    const auto at = static_cast<std::size_t>(random.below(text.size()));
    const auto length = static_cast<std::size_t>(1 + random.below(12));
    switch (random.below(6)) {
      case 0:
        text.erase(at, length);
        break;
      case 1:
        text.insert(at, pieces[static_cast<std::size_t>(random.below(pieces.size()))]);
        break;
      case 2:
        text[at] = static_cast<char>(random.below(256));
        break;
      case 3: {  // the value of a key becomes something else
        const auto equals = text.find("= ", at);
        if (equals == std::string::npos) break;
        const auto end = text.find_first_of("#\n", equals);
        text.replace(equals + 2, end - equals - 2,
                     pieces[static_cast<std::size_t>(random.below(pieces.size()))]);
        break;
      }
      case 4: {  // a line twice
        const auto begin = text.rfind('\n', at) + 1;
        const auto end = text.find('\n', at);
        text.insert(begin, text.substr(begin, end == std::string::npos ? end : end - begin + 1));
        break;
      }
      default: {  // a line lost
        const auto begin = text.rfind('\n', at) + 1;
        const auto end = text.find('\n', at);
        text.erase(begin, end == std::string::npos ? end : end - begin + 1);
      }
    }
  }
  return text;
}

struct Tally {
  int sound = 0, flagged = 0, refused = 0;
};

void read_damaged(const std::string& plan, const std::string& sheet, const std::string& traits,
                  Tally& tally) {
  try {
    const Reading reading = read(plan, {{"PTUB", sheet}}, traits);
    ++(reading.flags.stopped() ? tally.flagged : tally.sound);
    for (const Flag& flag : reading.flags.all()) {
      CHECK_FALSE(flag.place.file.empty());
      CHECK_FALSE(flag.meaning.empty());
    }
    // What was read can be said, also where it must not be used.
    CHECK_FALSE(in_sentences(reading.season.plan).empty());
    for (const Sheet& each : reading.season.sheets)
      CHECK_FALSE(in_sentences(each, reading.season.plan).empty());
  } catch (const InputError& error) {
    ++tally.refused;
    CHECK(std::string(error.what()).find(" is not TOML: ") != std::string::npos);
  }
}

}  // namespace

TEST_CASE("a damaged plan is flagged or refused, and nothing else happens") {
  const std::string plan = reference("plan-reference.toml"), sheet = reference("species-reference.toml");
  const std::string traits = reference("traits-reference.toml");
  RandomStream random(RandomKey(2027, "damaged plans"));
  Tally tally;
  for (int i = 0; i < 600; ++i) read_damaged(damaged(plan, random), sheet, traits, tally);
  CHECK(tally.sound > 30);
  CHECK(tally.flagged > 30);
  CHECK(tally.refused > 30);
}

TEST_CASE("a damaged sheet is flagged or refused, and nothing else happens") {
  const std::string plan = reference("plan-reference.toml"), sheet = reference("species-reference.toml");
  const std::string traits = reference("traits-reference.toml");
  RandomStream random(RandomKey(2027, "damaged sheets"));
  Tally tally;
  for (int i = 0; i < 600; ++i) read_damaged(plan, damaged(sheet, random), traits, tally);
  CHECK(tally.sound > 30);
  CHECK(tally.flagged > 30);
  CHECK(tally.refused > 30);
}

TEST_CASE("a damaged file of characters is flagged or refused, and nothing else happens") {
  const std::string plan = reference("plan-reference.toml"), sheet = reference("species-reference.toml");
  const std::string traits = reference("traits-reference.toml");
  RandomStream random(RandomKey(2027, "damaged characters"));
  Tally tally;
  for (int i = 0; i < 600; ++i) read_damaged(plan, sheet, damaged(traits, random), tally);
  CHECK(tally.sound > 30);
  CHECK(tally.flagged > 30);
  CHECK(tally.refused > 30);
}

TEST_CASE("deep nesting, an empty file and a long line are met with one error or flags") {
  const std::string plan = reference("plan-reference.toml"), sheet = reference("species-reference.toml");
  CHECK_THROWS_AS(read("a = " + std::string(100000, '['), {{"PTUB", sheet}}), InputError);
  CHECK(read("", {{"PTUB", sheet}}).flags.count(Severity::stop) > 3);
  CHECK(read(plan, {{"PTUB", ""}}, reference("traits-reference.toml")).flags.count(Severity::stop) ==
        5);  // two for PTUB, named by the plan
  CHECK(read(plan, {{"PTUB", "code = \"" + std::string(1000000, 'P') + "\"\nname = \"N\"\nscored = false\n"}})
            .season.sheets.size() == 1);
}

}  // namespace mutation_test
