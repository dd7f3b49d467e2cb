// Acceptance story 7: 60 rows with 12 planted faults raise exactly 12 flags; the sound rows raise nothing.
// (The spare out of order has two rows here, so 47 are sound.)
#include <set>

#include "made_returns.hpp"

namespace flags_story_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const Day may_28 = day_of(2027, 5, 28);

struct Story {
  MadeReturns made;
  std::vector<int> checks;  ///< that must speak, in order
  std::set<RowAt> faulty;
  void plant(int check, const ReturnRow& row) {
    checks.push_back(check);
    faulty.insert(row.at);
  }
};

/// Twelve plots of the prairie with three or four species, six of the bottomland with two or three, one
/// spare.
void fill(Story& story) {
  MadeReturns& made = story.made;
  made.sound();
  made.sound("HDR", "052", "0402");
  made.expected.searched["HDR"] = {1};
  std::erase_if(made.returns.rows, [&](const ReturnRow& row) {
    return row.species == made.species("PTEN") && row.plot != made.plot(MadeReturns::name("HDR", 2));
  });
  for (const char* code : {"PDIG", "PTUB"}) made.row("QPR52K", code, 3, may_28);
  for (int n = 1; n <= 12; ++n) made.row(MadeReturns::name("QPR", n), "PCOB", n % 4, may_28);
  for (int n = 1; n <= 8; ++n) made.row(MadeReturns::name("QPR", n), "PTEN", 0, may_28);
  for (int n = 1; n <= 6; ++n)
    if (n != 4) made.row(MadeReturns::name("HDR", n), "PCOB", 0, may_28, "052", "0402");
  std::uint32_t number = 2;
  for (ReturnRow& row : made.returns.rows) {
    row.at.row = number++;
    made.fix(row, 1, 2);
    row.area_searched_m2 = 20;
  }
}

}  // namespace

TEST_CASE("sixty rows: twelve faults, twelve flags, and the sound rows are let alone") {
  Story story;
  fill(story);
  MadeReturns& made = story.made;
  const auto plant_name = [&](const char* plot, const char* code, const char* text, int check) {
    ReturnRow& row = made.at(plot, code);
    row.plot = -1;
    made.write(row, ReturnColumn::plot, text);
    story.plant(check, row);
  };
  ReturnRow& swapped = made.at("QPR03S", "PDIG");
  std::swap(swapped.lat, swapped.lon);
  story.plant(6, swapped);
  ReturnRow& about = made.at("QPR04V", "PTUB");
  about.stems = -1;
  made.unread(about, ReturnColumn::flowering_stems, "~100");
  story.plant(10, about);
  ReturnRow& blank = made.at("QPR05Y", "PDIG");
  blank.stems = -1;
  story.plant(8, blank);
  ReturnRow& area = made.at("QPR08H", "PDIG");
  area.area_searched_m2 = 2;
  story.plant(11, area);
  ReturnRow& mown = made.at("QPR10" + std::string(1, check_letter("QPR10")), "PDIG");
  mown.fate = Fate::mown;
  mown.stems = 0;
  story.plant(23, mown);
  ReturnRow& late = made.at(MadeReturns::name("HDR", 2), "PTEN");
  late.date = day_of(2027, 6, 24);
  late.stems = 5;
  story.plant(14, late);
  ReturnRow& silt = made.row(MadeReturns::name("HDR", 4), "PCOB", 2, may_28, "052", "0402");
  made.plot_at(MadeReturns::name("HDR", 4)).percent[0] = 0;
  made.plot_at(MadeReturns::name("HDR", 4)).held_down[0] = 0;
  made.fix(silt, 1, 2);
  story.plant(17, silt);
  made.plot_at("QPR09L").inside_m2 = 12;
  ReturnRow& inside = made.at("QPR09L", "PDIG");
  for (const char* code : {"PTUB", "PCOB"}) made.at("QPR09L", code).area_searched_m2 = 12;
  story.plant(12, inside);
  for (const char* code : {"PDIG", "PTUB"}) story.faulty.insert(made.at("QPR52K", code).at);
  story.checks.push_back(24);
  plant_name("QPR07E", "PDIG", "QPR7", 1);
  plant_name("QPR06B", "PDIG", "5-Mar", 26);
  // A sheet of one box for the last plot of the bottomland, keyed twice.
  const std::string last = MadeReturns::name("HDR", 6);
  made.at(last, "PDIG").sheet = made.returns.texts.index_of("0412");
  ReturnRow& twice = made.row(last, "PDIG", made.at(last, "PDIG").stems, may_28, "052", "0455");
  made.fix(twice, 1, 2);
  story.plant(21, twice);

  REQUIRE(made.returns.rows.size() == 60);
  const std::vector<ReturnFlag> flags = made.flags();
  std::vector<int> found;
  std::set<RowAt> named;
  for (const ReturnFlag& flag : flags) {
    found.push_back(flag.check);
    MESSAGE(flag.check << ": " << flag.reason << " " << flag.next_step);
    REQUIRE_FALSE(flag.rows.empty());
    for (const RowAt& at : flag.rows) named.insert(at);
  }
  std::sort(found.begin(), found.end());
  std::sort(story.checks.begin(), story.checks.end());
  CHECK(story.checks.size() == 12);
  CHECK(found == story.checks);
  CHECK(named == story.faulty);
}

}  // namespace flags_story_test
