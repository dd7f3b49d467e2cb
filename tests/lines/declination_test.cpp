// When a declination can be trusted.
#include "swardline/lines/declination.hpp"

#include <doctest/doctest.h>

#include "swardline/base/error.hpp"

namespace declination_test {

using namespace swardline;

namespace {

std::string found(const DeclinationSpec& spec, double today) {
  Flags flags;
  check_declination(spec, today, flags);
  std::string text;
  for (const Flag& flag : flags.all()) text += std::string(word(flag.severity)) + " " + flag.check + "\n";
  return text;
}

DeclinationSpec typed(const std::string& date) { return {true, -1.5, {}, date, "survey sheet 14", {}}; }

DeclinationSpec worked_out(const std::string& date) {
  return {true, {}, std::string(SWARDLINE_SOURCE_DIR) + "/samples/WMM2025.COF", date, "", {}};
}

}  // namespace

TEST_CASE("a typed declination without a date or older than two years is doubtful") {
  CHECK(found(typed("2027-05-28"), 2027.5).empty());
  CHECK(found(typed("2025-07-01"), 2027.4).empty());
  CHECK(found(typed("2025-05-01"), 2027.4) == "ASK declination old\n");
  CHECK(found(typed(""), 2027.4) == "ASK declination undated\n");
  CHECK(found({}, 2027.4).empty());
}

TEST_CASE("a model holds for its five years") {
  CHECK(found(worked_out("2027-05-28"), 2027.5).empty());
  CHECK(found(worked_out("2031-05-28"), 2027.5) == "ASK declination outside the model's years\n");
  CHECK(found(worked_out("2024-05-28"), 2027.5) == "ASK declination outside the model's years\n");
  DeclinationSpec missing = worked_out("2027-05-28");
  missing.model = "nowhere/WMM2025.COF";
  CHECK(found(missing, 2027.5) == "STOP declination\n");
}

TEST_CASE("a declination at a place, and how it is known") {
  const Declination sheet(typed("2027-05-28"));
  CHECK(sheet.at(38, -96) == -1.5);
  CHECK(sheet.words() == "declination as typed in: survey sheet 14, 2027-05-28");
  CHECK_FALSE(Declination(DeclinationSpec{}).at(38, -96));
  // WMM2025 report, table of test values (NOAA NCEI / BGS 2024): 80 N, 0 E at height 0: 1.28 in 2025.0.
  const Declination model(worked_out("2025-01-01"));
  CHECK(*model.at(80, 0) == doctest::Approx(1.28).epsilon(0.004));
  CHECK(model.words() == "declination from WMM-2025 for 2025-01-01");
}

}  // namespace declination_test
