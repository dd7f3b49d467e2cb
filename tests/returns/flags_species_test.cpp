// Species and who may name them.
#include "made_returns.hpp"

namespace flags_species_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
const Day may_28 = day_of(2027, 5, 28);
}

TEST_CASE("a find where the rule gives nothing is asked about, with what holds the score down") {
  MadeReturns made;
  made.sound("HDR", "052", "0402");
  const std::string plot = MadeReturns::name("HDR", 3);
  made.plot_at(plot).percent = {0, 60, 60, 60};
  made.plot_at(plot).held_down = {0, -1, -1, -1};
  ReturnRow& row = made.row(plot, "PCOB", 2, may_28, "052", "0402");
  ReturnFlag flag = only(made.flags(), 17);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.column == ReturnColumn::species);
  CHECK(flag.reason ==
        "P. cobaea at Hadrel Bottoms, " + plot + " (score 0.00, bedrock ALL). Photo needed before use.");
  made.plot_at(plot).percent[0] = -1;
  made.plot_at(plot).held_down.clear();
  CHECK(says(only(made.flags(), 17).reason, "(excluded)"));
  row.has_photo = true;
  CHECK(says(only(made.flags(), 17).next_step, "photo looked at"));
}

TEST_CASE("none found there, no score, or a species without a rule is no question") {
  MadeReturns made;
  made.sound("HDR", "052", "0402");
  const std::string plot = MadeReturns::name("HDR", 3);
  ReturnRow& row = made.row(plot, "PCOB", 0, may_28, "052", "0402");
  made.plot_at(plot).percent = {0, 60, 60, 60};
  none(made.flags());
  row.stems = 2;
  for (const int percent : {-2, -3, 1}) {
    made.plot_at(plot).percent[0] = std::int8_t(percent);
    none(made.flags());
  }
}

TEST_CASE("a species that is none of the season's, none at all, or named no further") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PTUB");
  row.species = -1;
  row.stems = 4;
  made.write(row, ReturnColumn::species, "PTBU");
  ReturnFlag flag = only(made.flags(), 17);  // and PTUB is not missing besides
  CHECK(flag.reason == "QPR05Y: 'PTBU' is no species of the season. Nearest: PTUB.");
  MadeReturns other;
  other.sound();
  other.row("QPR05Y", "PEN?", 0, may_28);
  none(other.flags());
  other.row("QPR06B", "PEN?", 3, may_28);
  CHECK(says(only(other.flags(), 17).reason, "'PEN?'"));
  MadeReturns nameless;
  nameless.sound();
  nameless.row("QPR05Y", "", 7, may_28);
  CHECK(says(only(nameless.flags(), 17).reason, "7 stems of no species"));
}

TEST_CASE("past flower and without a photo a look-alike cannot be told") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PTUB");
  row.stems = 4;
  row.phase = Phase::past;
  const ReturnFlag flag = only(made.flags(), 18);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows == std::vector<RowAt>{row.at});
  CHECK(flag.reason ==
        "P. tubaeflorus at QPR05Y, phase 'past', no photo: cannot be told from digitalis without flowers.");
  row.has_photo = true;
  none(made.flags());
  row.has_photo = false;
  row.certainty = Certainty::not_certain;
  none(made.flags());
  row.certainty = Certainty::sure;
  row.phase = Phase::capsule;
  none(made.flags());
  row.phase = Phase::past;
  row.stems = 0;
  none(made.flags());
  made.at("QPR05Y", "PDIG").phase = Phase::past;  // its sheet names no look-alike
  none(made.flags());
}

TEST_CASE("words that are no phase and no certainty") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR05Y", "PTUB");
  row.stems = 4;
  row.phase = Phase::unknown;
  made.write(row, ReturnColumn::phase, "blooming");
  CHECK(says(only(made.flags(), 18).reason, "'blooming' is no phase"));
  row.phase = Phase::flower;
  row.certainty = Certainty::unknown;
  made.write(row, ReturnColumn::certainty, "maybe");
  CHECK(says(only(made.flags(), 18).reason, "'maybe' in certainty"));
}

TEST_CASE("an observer who is not signed off is asked about for each plot, zeros with the finds") {
  MadeReturns made;
  made.sound("QPR", "088");
  made.expected.observers["088"] = {"088", "north", {"PDIG"}, {}};
  std::vector<ReturnFlag> flags = made.flags();
  CHECK(flags.size() == 12);
  for (const ReturnFlag& flag : flags) {
    CHECK(flag.check == 19);
    CHECK(flag.severity == Severity::ask);
    CHECK(flag.rows.size() == 1);
    CHECK(flag.value == "088");
    CHECK(says(flag.reason, "observer 088 has not passed the test (P. tubaeflorus at "));
    CHECK(says(flag.reason, "second look needed"));
  }
  made.expected.observers["088"].passed.insert("PTUB");
  none(made.flags());
  made.expected.observers["088"].since = day_of(2027, 5, 29);
  flags = made.flags();
  CHECK(flags.size() == 12);
  CHECK(flags.front().rows.size() == 2);
  CHECK(says(flags.front().reason, "had not passed the test by that day"));
  made.expected.observers["088"].since = may_28;
  none(made.flags());
}

TEST_CASE("a second observer who passed is the second look; one who is on no list is not") {
  MadeReturns made;
  made.sound("QPR", "088");
  made.expected.observers["041"] = {"041", "north", {"PDIG", "PTUB"}, {}};
  CHECK(says(made.flags().front().reason, "observer 088 is not on the list of observers"));
  for (ReturnRow& row : made.returns.rows) row.second_observer = made.returns.texts.index_of("041");
  none(made.flags());
  for (ReturnRow& row : made.returns.rows) row.observer = row.second_observer = -1;
  CHECK(says(made.flags().front().reason, "No observer is named"));
  made.expected.observers.clear();  // no list: nobody is asked about
  none(made.flags());
}

}  // namespace flags_species_test
