// Boxes filled twice, and spares out of turn.
#include "made_returns.hpp"

namespace flags_sheets_test {

using namespace swardline;
using namespace swardline::testing;

namespace {
const Day may_28 = day_of(2027, 5, 28);
}

TEST_CASE("one sheet keyed twice is one stop, and no recount") {
  MadeReturns made;
  made.sound("QPR", "041", "0412");
  made.sound("QPR", "041", "0455");
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 21);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.reason == "sheet 0412 and sheet 0455 agree in all 24 boxes: one sheet keyed twice?");
  CHECK(flag.column == ReturnColumn::sheet_id);
  // The second is kept out, the first is used meanwhile: either way its counts hold.
  REQUIRE(flag.rows.size() == 24);
  const std::vector<Use> use = use_of_rows(made.returns, flags);
  for (std::size_t i = 0; i < 48; ++i) CHECK(use[i] == (i < 24 ? Use::used : Use::cannot_be_used));
}

TEST_CASE("the same sheet in two files is told by its files") {
  MadeReturns made;
  made.sound("QPR", "041", "0412");
  made.returns.files.push_back({"2027-07-02-b.csv", "b.csv", "1", "2027-07-02", 1});
  made.file = 1;
  made.sound("QPR", "041", "0412");
  CHECK(says(only(made.flags(), 21).reason,
             "sheet 0412 of a.csv and sheet 0412 of b.csv agree in all 24 boxes"));
}

TEST_CASE("three copies are two flags") {
  MadeReturns made;
  for (const char* sheet : {"0412", "0455", "0460"}) made.sound("QPR", "041", sheet);
  CHECK(of_check(made.flags(), 21).size() == 2);
  CHECK(made.flags().size() == 2);
}

TEST_CASE("sheets of one observer and day that fill the same boxes otherwise are a stop too") {
  MadeReturns made;
  made.sound("QPR", "041", "0412");
  made.row("QPR05Y", "PDIG", 99, may_28, "041", "0455");
  const ReturnFlag flag = only(made.flags(), 21);
  CHECK(says(flag.reason, "fill the same 1 box, 0 of them alike, by one observer on one day"));
  CHECK(flag.rows.size() == 2);
}

TEST_CASE("a box filled twice on one sheet") {
  MadeReturns made;
  made.sound();
  ReturnRow& again = made.row("QPR05Y", "PDIG", made.at("QPR05Y", "PDIG").stems, may_28);
  ReturnFlag flag = only(made.flags(), 21);
  CHECK(flag.rows == std::vector<RowAt>{again.at});
  again.stems += 3;
  flag = only(made.flags(), 21);
  CHECK(flag.rows == std::vector<RowAt>{made.at("QPR05Y", "PDIG").at, again.at});
  again.certainty = Certainty::not_certain;  // another box: sure and not certain are counted apart
  none(made.flags());
}

TEST_CASE("stems in bud and in flower are two boxes of one sheet") {
  MadeReturns made;
  made.sound();
  ReturnRow& flower = made.at("QPR03S", "PDIG");
  flower.phase = Phase::flower;
  ReturnRow& bud = made.row("QPR03S", "PDIG", 5, may_28);
  bud.phase = Phase::bud;
  none(made.flags());
  bud.phase = Phase::flower;
  only(made.flags(), 21);
}

TEST_CASE("sums of counts do not run over") {
  MadeReturns made;
  for (const Day day : {may_28, may_28 + 1})
    for (const Certainty certainty : {Certainty::sure, Certainty::not_certain})
      made.row("QPR03S", "PDIG", 2000000000, day).certainty = certainty;
  const std::vector<ReturnFlag> flags = of_check(made.flags(), 22);
  REQUIRE(flags.size() == 1);
  CHECK(says(flags.front().reason, "(4000000000)"));
}

TEST_CASE("frames of a transect are boxes of their own") {
  MadeReturns made;
  for (const char* code : {"PDIG", "PTUB"})
    for (int station = 1; station <= 5; ++station)
      made.row("QPR05Y", code, 2, may_28).station = std::int16_t(station);
  none(made.flags());
}

TEST_CASE("two teams on one plot are a recount pair, and all is used") {
  MadeReturns made;
  made.sound();
  for (const char* code : {"PDIG", "PTUB"}) made.at("QPR02N", code).stems = code[1] == 'D' ? 14 : 0;
  made.row("QPR02N", "PDIG", 17, day_of(2027, 5, 29), "052", "0455");
  made.row("QPR02N", "PTUB", 0, day_of(2027, 5, 29), "052", "0455");
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 22);
  CHECK(flag.severity == Severity::note);
  CHECK(flag.rows.size() == 4);
  CHECK(flag.reason ==
        "QPR02N counted 28 May (14) and 29 May (17): kept as a recount pair; first visit used.");
  for (const Use use : use_of_rows(made.returns, flags)) CHECK(use == Use::used);
}

TEST_CASE("blind counts on one day: alike by honest counting, or keyed twice") {
  MadeReturns made;
  made.sound("QPR", "041", "0412");
  made.sound("QPR", "052", "0455");  // strangers, 15 finds alike: nobody counts so well
  CHECK(only(made.flags(), 21).rows.size() == 24);
  for (ReturnRow& row : made.returns.rows) row.stems = row.plot < 3 ? row.stems : 0;
  const std::vector<ReturnFlag> flags = made.flags();  // four finds alike, the rest zeros
  CHECK(of_check(flags, 21).empty());
  CHECK(of_check(flags, 22).size() == 12);
  for (ReturnRow& row : made.returns.rows) row.second_observer = made.returns.texts.index_of("077");
  only(made.flags(), 21);  // one team, one stand
}

TEST_CASE("visits for other species are no recount; the same observer's second look is said as that") {
  MadeReturns made;
  const std::string plot = MadeReturns::name("HDR", 1);
  made.row(plot, "PTEN", 4, day_of(2027, 5, 16));
  made.row(plot, "PDIG", 2, day_of(2027, 5, 30), "052", "0402");
  none(made.flags());
  made.row(plot, "PTEN", 6, day_of(2027, 5, 30), "041", "0403");
  CHECK(says(only(made.flags(), 22).reason, "counted 16 May (4) and 30 May (6) by one observer"));
}

TEST_CASE("a spare used before its turn is noted, with the one passed over") {
  MadeReturns made;
  made.sound();
  std::vector<RowAt> rows;
  for (const char* code : {"PDIG", "PTUB"}) rows.push_back(made.row("QPR52K", code, 1, may_28).at);
  const ReturnFlag flag = only(made.flags(), 24);
  CHECK(flag.severity == Severity::note);
  CHECK(flag.rows == rows);
  CHECK(flag.reason == "QPR52K used before QPR51G. Why was QPR51G skipped?");
  ReturnRow& skipped = made.row("QPR51G", "", -1, may_28);
  skipped.fate = Fate::unsafe;
  none(made.flags());
}

TEST_CASE("spares in order, of their own stratum, are nothing") {
  MadeReturns made;
  made.sound();
  for (const char* code : {"PDIG", "PTUB"}) made.row("QPR51G", code, 1, may_28);
  none(made.flags());
  MadeReturns other;
  other.sound();
  other.plot_at("QPR51G").stratum = "QPR|score=0-25|v1";
  for (const char* code : {"PDIG", "PTUB"}) other.row("QPR52K", code, 1, may_28);
  none(other.flags());
  MadeReturns resting;
  resting.sound();
  resting.plot_at("QPR51G").due = false;
  for (const char* code : {"PDIG", "PTUB"}) resting.row("QPR52K", code, 1, may_28);
  none(resting.flags());
}

}  // namespace flags_sheets_test
