// Fixes that do not lie where they should.
#include <cmath>

#include "made_returns.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/geo/earth.hpp"

namespace flags_positions_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

const Day may_28 = day_of(2027, 5, 28);

/// The rows of a plot, each with the fix.
std::vector<RowAt> with_fix(MadeReturns& made, const std::string& plot, double east, double north,
                            float accuracy) {
  std::vector<RowAt> rows;
  for (const char* code : {"PDIG", "PTUB"}) {
    ReturnRow& row = made.at(plot, code);
    made.fix(row, east, north, accuracy);
    rows.push_back(row.at);
  }
  return rows;
}

}  // namespace

TEST_CASE("distances agree with the geodesic of GeographicLib") {
  for (const double lat : {-55.0, 0.5, 38.0, 69.0})
    for (const double metres : {5.0, 200.0, 9000.0})
      for (const double turn : {0.3, 2.0, 4.0}) {
        const double north = metres * std::cos(turn) / 111000;
        const double east = metres * std::sin(turn) / 111000 / std::cos(lat * 0.0174532925);
        const double exact = geodesic({-96.02, lat}, {-96.02 + east, lat + north}).metres;
        CHECK(offset_between(lat, -96.02, lat + north, -96.02 + east).metres() ==
              doctest::Approx(exact).epsilon(1e-5));
      }
  CHECK(offset_between(10, 179.9999, 10, -179.9999).metres() < 25);
}

TEST_CASE("a fix far from its plot is asked about once for the plot, with the plot that is near") {
  MadeReturns made;
  made.sound();
  const std::vector<RowAt> rows = with_fix(made, "QPR03S", 0, 38, 5);
  ReturnFlag flag = only(made.flags(), 3);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows == rows);
  CHECK(flag.column == ReturnColumn::lat);
  CHECK(flag.reason == "QPR03S: your fix is 38 m from the plot, accuracy 5 m.");
  // The next plot lies 66.6 m north.
  with_fix(made, "QPR03S", 0, 61, 5);
  flag = only(made.flags(), 3);
  CHECK(flag.reason ==
        "QPR03S: your fix is 61 m from the plot, accuracy 5 m. Counted at another plot? QPR04V is 6 m away.");
}

TEST_CASE("a fix within the plan's distance and its own accuracy is nothing") {
  MadeReturns made;
  made.sound();
  with_fix(made, "QPR03S", 0, 19.5, 5);
  none(made.flags());
  with_fix(made, "QPR03S", 0, 20.5, 5);
  only(made.flags(), 3);
  made.season.plan.returns.far_m = 25;
  none(made.flags());
}

TEST_CASE("a number that is no place at all, however large, is said and held up by nothing") {
  for (const double lon : {-9602184000000000000.0, 1e300, -1e9}) {
    MadeReturns made;
    made.sound();
    ReturnRow& row = made.at("QPR03S", "PDIG");
    made.fix(row, 0, 0);
    row.lon = lon;
    CHECK(says(only(made.flags(), 6).reason, "no such place on Earth"));
  }
  CHECK(offset_between(38, 179.9999, 38, -179.9999).east > 0);  // over the date line, the short way
}

TEST_CASE("rows without a fix go with the fix of their visit") {
  MadeReturns made;
  made.sound();
  made.fix(made.at("QPR03S", "PDIG"), 0, 38);
  CHECK(only(made.flags(), 3).rows.size() == 2);
}

TEST_CASE("along a transect a fix may lie as far as it reaches") {
  MadeReturns made;
  made.sound();
  ExpectedPlot& plot = made.plot_at("QPR03S");
  plot.transect = true;
  plot.reach_m = 25;
  with_fix(made, "QPR03S", 0, 38, 5);
  none(made.flags());
}

TEST_CASE("an accuracy wider than the plot is noted, once, and does not keep anything out") {
  MadeReturns made;
  made.sound();
  const std::vector<RowAt> rows = with_fix(made, "QPR03S", 3, 2, 14);
  const std::vector<ReturnFlag> flags = made.flags();
  const ReturnFlag flag = only(flags, 4);
  CHECK(flag.severity == Severity::note);
  CHECK(flag.rows == rows);
  CHECK(says(flag.reason, "QPR03S: accuracy 14 m is wider than the plot"));
  CHECK(flag.next_step == "Kept; not used to test habitat rules.");
  for (const Use use : use_of_rows(made.returns, flags)) CHECK(use == Use::used);
  with_fix(made, "QPR03S", 3, 2, 10);  // the plot is 10.2 m across
  none(made.flags());
}

TEST_CASE("an accuracy that cannot be read is said") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR03S", "PDIG");
  made.fix(row, 0, 0);
  row.fix_accuracy_m = NAN;
  made.unread(row, ReturnColumn::fix_accuracy_m, "good");
  CHECK(says(only(made.flags(), 4).reason, "'good'"));
}

TEST_CASE("swapped axes and lost signs are a stop, and not also far away") {
  struct Case {
    double lat, lon;
    const char* words;
  };
  for (const Case& one :
       {Case{-96.02, 38.0058, "swapped?"}, Case{38.0058, 96.02, "sign of the longitude lost?"},
        Case{-38.0058, -96.02, "sign of the latitude lost?"}, Case{96.02, 38.0058, "lost?"}}) {
    MadeReturns made;
    made.sound();
    ReturnRow& row = made.at("QPR03S", "PDIG");
    row.lat = one.lat;
    row.lon = one.lon;
    const ReturnFlag flag = only(made.flags(), 6);
    CHECK(flag.severity == Severity::stop);
    CHECK(flag.rows.size() == 2);
    CHECK(flag.rows.front() == row.at);
    CHECK(says(flag.reason, one.words));
  }
}

TEST_CASE("positions that are none: beyond the Earth, zeros, halves and words") {
  MadeReturns made;
  made.sound();
  ReturnRow& row = made.at("QPR03S", "PDIG");
  row.lat = 380.0;
  row.lon = -96.02;
  CHECK(says(only(made.flags(), 6).reason, "no such place"));
  row.lat = row.lon = 0;
  CHECK(says(only(made.flags(), 6).reason, "a unit without a fix"));
  row.lat = NAN;
  row.lon = -96.02;
  CHECK(says(only(made.flags(), 6).reason, "lat is empty"));
  made.unread(row, ReturnColumn::lat, "38 N");
  CHECK(says(only(made.flags(), 6).reason, "'38 N' in lat is not a number of degrees"));
}

TEST_CASE("one slip of an observer all through a file is one flag") {
  MadeReturns made;
  made.sound();
  std::size_t rows = 0;
  for (ReturnRow& row : made.returns.rows) {
    made.fix(row, 0, 0);
    std::swap(row.lat, row.lon);
    ++rows;
  }
  const ReturnFlag flag = only(made.flags(), 6);
  CHECK(flag.rows.size() == rows);
  CHECK(says(flag.reason, "So are 11 other fixes"));
}

TEST_CASE("minutes typed as decimals: 38 deg 00.247' as 38.00247") {
  MadeReturns made;
  made.sound();
  ExpectedPlot& plot = made.plot_at("QPR07E");
  plot.lat = 38.00412;
  plot.lon = -96.02184;
  ReturnRow& row = made.at("QPR07E", "PDIG");
  row.lat = 38.00247;
  row.lon = -96.02184;
  ReturnFlag flag = only(made.flags(), 7);
  CHECK(flag.severity == Severity::ask);
  CHECK(flag.rows.size() == 2);
  CHECK(flag.reason == "38.00247 is 183 m off; 38 deg 00.247' fits. Typed from degrees-minutes?");
  row.lon = -96.01310;  // 96 01.310 W
  flag = only(made.flags(), 7);
  CHECK(says(flag.reason, "38 deg 00.247' and 96 deg 01.310' fits"));
  row.lat = 38.00148;  // 38 00' 14.8"
  row.lon = -96.02184;
  CHECK(says(only(made.flags(), 7).reason, "38 deg 00' 14.8\" fits"));
  row.lat = 38.00300;  // fits nothing
  only(made.flags(), 3);
}

TEST_CASE("fixes that are all displaced alike are one stop: a unit set to NAD27") {
  MadeReturns made;
  made.sound();
  std::size_t n = 0;
  for (ReturnRow& row : made.returns.rows) {
    if (row.plot > 10) continue;  // eleven plots
    made.fix(row, 31 + double(row.plot % 3), -209 - double(row.plot % 5), 4);
    ++n;
  }
  ReturnFlag flag = only(made.flags(), 5);
  CHECK(flag.severity == Severity::stop);
  CHECK(flag.rows.size() == n);
  CHECK(flag.plot == -1);
  CHECK(says(flag.reason, "11 fixes all lie 21"));
  CHECK(says(flag.reason, "m south of their plots: unit set to NAD27?"));
  CHECK(flag.next_step == "Not moved. Check the unit.");
}

TEST_CASE("a shift of no known datum is said as that") {
  MadeReturns made;
  made.sound();
  for (ReturnRow& row : made.returns.rows)
    if (row.plot < 4) made.fix(row, 400, 0, 4);
  CHECK(says(only(made.flags(), 5).reason,
             "4 fixes all lie 400-400 m east of their plots: unit set to another datum"));
}

TEST_CASE("far fixes this way and that, or two alike, are no shift") {
  MadeReturns made;
  made.sound();
  const double east[] = {200, -200, 0, 0}, north[] = {0, 0, 210, -190};
  for (ReturnRow& row : made.returns.rows)
    if (row.plot < 4) made.fix(row, east[row.plot], north[row.plot], 4);
  CHECK(of_check(made.flags(), 3).size() == 4);
  CHECK(of_check(made.flags(), 5).empty());
  for (ReturnRow& row : made.returns.rows)
    if (row.plot < 4) made.fix(row, row.plot < 2 ? 200 : 0, 0, 4);
  CHECK(of_check(made.flags(), 3).size() == 2);
  CHECK(of_check(made.flags(), 5).empty());
}

TEST_CASE("names mixed up along a line are no shift of the unit") {
  MadeReturns made;
  made.sound();
  for (ReturnRow& row : made.returns.rows)
    if (row.plot < 8) made.fix(row, 0, 66.6, 4);  // each at the next plot
  const std::vector<ReturnFlag> flags = made.flags();
  CHECK(of_check(flags, 5).empty());
  CHECK(of_check(flags, 3).size() == 8);
}

TEST_CASE("a shift shows among days, where others had their unit right") {
  MadeReturns made;
  made.sound();
  made.sound("HDR", "052", "0402");
  for (ReturnRow& row : made.returns.rows) made.fix(row, 0, 0, 4);
  for (ReturnRow& row : made.returns.rows)
    if (made.returns.texts.text(row.observer) == "052") made.fix(row, 29, -210, 4);
  const ReturnFlag flag = only(made.flags(), 5);
  CHECK(flag.rows.size() == 12);
}

TEST_CASE("ten metres of another datum show over many fixes, if they are that datum's") {
  // Degrees of NAD27 read as WGS84, by PROJ itself.
  const Route shown(Crs::wgs84(), Crs::from_text("EPSG:4267"));
  const auto with = [&](int plots, double turn) {
    MadeReturns made;
    made.sound();
    const ExpectedPlot& at = made.expected.plots.front();
    const Point there = shown.forward({at.lon, at.lat});
    const Offset off = offset_between(at.lat, at.lon, there.y, there.x);
    made.season.plan.returns.far_m = off.metres() + 10;  // not far at all
    for (ReturnRow& row : made.returns.rows) {
      const double wander = double(row.plot % 3) - 1;
      if (row.plot < plots) made.fix(row, off.east * turn + wander, off.north * turn - wander, 4);
    }
    return made.flags();
  };
  const ReturnFlag flag = only(with(9, 1), 5);
  CHECK(flag.rows.size() == 18);
  CHECK(says(flag.reason, "9 fixes all lie "));
  CHECK(says(flag.reason, "as degrees of a unit set to NAD27 do"));
  none(with(7, 1));
  none(with(9, -1));  // as far the other way
}

}  // namespace flags_positions_test
