// The blank form, and that it reads back.
#include "swardline/returns/form.hpp"

#include <doctest/doctest.h>

#include <cmath>

#include "returned_season.hpp"

namespace form_test {

using namespace swardline;

namespace {

std::string form_of(const ReturnedSeason& at, const std::vector<std::string>& sites = {}) {
  write_form(at.folder / "form.csv", at.season, at.expected, sites);
  return read_whole(at.folder / "form.csv");
}

}  // namespace

TEST_CASE("a row for every due plot and searched species, spares last") {
  ReturnedSeason at;
  at.expected.plots[0].twice_m2 = 3.2;
  at.expected.plots[1].due = false;
  at.expected.plots[2].inside_m2 = 14.5379;
  const FormWritten written = write_form(at.folder / "form.csv", at.season, at.expected);
  CHECK(written.plots == 3);
  CHECK(written.rows == 6);
  const std::string text = read_whole(at.folder / "form.csv");
  CHECK(text.starts_with(
      "plot,visit_date,start,finish,observer,second_observer,species,certainty,flowering_stems,"
      "twice_stems,"));
  // Count-twice zone: an empty box. Else 0.
  CHECK(text.find("\r\nQPR01K,,,,,,PDIG,,,,,,20,,,,,,,,,,,,,,\r\nQPR01K,,,,,,PTUB,") != std::string::npos);
  CHECK(text.find("\r\nQPR07E,,,,,,PDIG,,,0,,,14.53,") != std::string::npos);
  CHECK(text.find("QPR02N") == std::string::npos);
  CHECK(text.find("QPR07E") < text.find("QPR51G"));
}

TEST_CASE("a blank form reads back as blank boxes, a filled one as counts") {
  ReturnedSeason at;
  std::string text = form_of(at);
  Returns blank = at.take(text);
  REQUIRE(blank.rows.size() == 8);
  for (const ReturnRow& row : blank.rows) {
    CHECK(row.plot >= 0);
    CHECK(row.species >= 0);
    CHECK(row.stems == -1);
    CHECK(row.twice_stems == 0);
    CHECK(row.area_searched_m2 == 20);
    CHECK(row.unread == 0);
  }
  CHECK(at.flags.all().empty());
  text.replace(text.find("QPR07E,,,,,,PTUB,,,"), 19, "QPR07E,2027-05-28,,,,,PTUB,,14,");
  CHECK(at.take(text, "filled.csv").rows.at(8 + 5).stems == 14);
}

TEST_CASE("transects with frames have a row a station") {
  ReturnedSeason at;
  at.expected.plots.resize(1);
  at.expected.plots[0].transect = true;
  at.expected.plots[0].stations = 3;
  at.season.plan.transect.frames = FrameSpec{5, {0.5, 1}};
  const FormWritten written = write_form(at.folder / "form.csv", at.season, at.expected);
  CHECK(written.rows == 6);
  const Returns back = at.take(read_whole(at.folder / "form.csv"));
  REQUIRE(back.rows.size() == 6);
  for (std::size_t i = 0; i < 6; ++i) {
    CHECK(back.rows[i].station == static_cast<int>(i / 2) + 1);
    CHECK(back.rows[i].frames == 1);
    CHECK(back.rows[i].frame_m2 == 0.5F);
    CHECK(back.rows[i].area_searched_m2 == 0.5F);
  }
}

TEST_CASE("sites asked for, and a site without a plot") {
  ReturnedSeason at;
  CHECK(form_of(at, {"QPR"}) == form_of(at));
  CHECK_THROWS_WITH_AS((void)form_of(at, {"QPX"}),
                       doctest::Contains("no plot is due at a site QPX. Did you mean QPR?"), InputError);
}

}  // namespace form_test
