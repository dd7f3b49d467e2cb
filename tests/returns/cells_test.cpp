// What one cell says: numbers, degrees, dates, times.
#include "swardline/returns/cells.hpp"

#include <doctest/doctest.h>

#include <cmath>

namespace cells_test {

using namespace swardline;

namespace {

std::string day(const std::optional<DateRead>& read, bool month_first = false) {
  if (!read) return "unread";
  const Day one = month_first ? read->month_first : read->day_first;
  return one == no_day ? "none" : iso_day(one);
}

constexpr Day today = 20983;  // 2027-06-14

}  // namespace

TEST_CASE("a count is digits and nothing else") {
  CHECK(read_count("14") == 14);
  CHECK(read_count(" 014 ") == 14);
  CHECK(read_count("0") == 0);
  CHECK(read_count("14\xC2\xA0") == 14);  // a no-break space behind it
  CHECK(read_count("2147483647") == 2147483647);
  for (const char* other :
       {"",     " ",          "~100",  "lots",  ">50", "3+2", "3-5", "-3",         "+3",
        "1e5",  "1 000",      "1,000", "1.000", "1.5", "14.", ".0",  "2147483648", "99999999999999999999",
        "0x10", "14\xC2\xB2", "n/a",   "?"})
    CHECK_MESSAGE(!read_count(other).has_value(), other);
  CHECK_FALSE(read_count("40000", 32767).has_value());
}

TEST_CASE("whole numbers as tables with gaps are exported stay whole numbers") {
  CHECK(read_count("14.0") == 14);
  CHECK(read_count("14.00") == 14);
  CHECK(read_count("14,0") == 14);
}

TEST_CASE("decimal digits of other scripts are digits (Unicode, category Nd)") {
  CHECK(read_count("\xEF\xBC\x91\xEF\xBC\x94") == 14);  // full width: U+FF11 U+FF14
  CHECK(read_count("\xD9\xA1\xD9\xA4") == 14);          // Arabic-Indic: U+0661 U+0664
  CHECK(read_count("\xE0\xA5\xA7\xE0\xA5\xAA") == 14);  // Devanagari: U+0967 U+096A
  CHECK_FALSE(read_count("\xE2\x85\xA3").has_value());  // U+2163, Roman numeral four
}

TEST_CASE("numbers take a point or a comma, and their own unit") {
  CHECK(read_number("12.5")->value == 12.5);
  CHECK(read_number("12.5")->decimals == Decimals::point);
  CHECK(read_number("12,5")->value == 12.5);
  CHECK(read_number("12,5")->decimals == Decimals::comma);
  CHECK(read_number("0,125")->decimals == Decimals::comma);
  CHECK(read_number("1,200")->decimals == Decimals::comma_or_thousands);
  CHECK(read_number("20 m2", "m2")->value == 20);
  CHECK(read_number("20 m\xC2\xB2", "m2")->value == 20);
  CHECK(read_number("5m", "m")->value == 5);
  CHECK(read_number("\xE2\x88\x92"
                    "5")
            ->value == -5);  // U+2212, the minus sign
  for (const char* other :
       {"", ".", ",", "1,2,3", "1.200,5", "1,200.5", "5 ft", "nan", "inf", "1e3", "--5", "12,"})
    CHECK_MESSAGE(!read_number(other, "m").has_value(), other);
}

TEST_CASE("degrees are read as decimals, minutes and seconds") {
  // The same place in the notations of a packet sheet.
  CHECK(read_degrees("38.00412")->value == 38.00412);
  CHECK(read_degrees("-96,02184")->value == -96.02184);
  const double minutes = 38 + 0.247 / 60;
  for (const char* written :
       {"38 00.247",
        "38\xC2\xB0"
        "00.247'N",
        "38\xC2\xB0 00.247\xE2\x80\xB2 N", "N 38 00.247", "N38:00.247", "38 00,247", "38 00 14.82"})
    CHECK_MESSAGE(std::abs(read_degrees(written)->value - minutes) < 1e-12, written);
  CHECK(read_degrees("96 01.310 W")->value == doctest::Approx(-96.0218333333).epsilon(1e-12));
  CHECK(read_degrees("-96 01.310")->value == doctest::Approx(-96.0218333333).epsilon(1e-12));
  CHECK(read_degrees("96\xC2\xB0"
                     "01'18.6\"W")
            ->value == doctest::Approx(-96.0218333333).epsilon(1e-12));
  CHECK(read_degrees("38 0")->value == 38);
  for (const char* other : {"", "N", "38 60", "38 00 60", "38.5 10", "38 10.5 20", "-96.02 W", "38 00 00 00",
                            "QPR07E", "38..1", "38.00412 x"})
    CHECK_MESSAGE(!read_degrees(other).has_value(), other);
}

TEST_CASE("dates with one order") {
  for (const char* written :
       {"2027-05-28", "2027/05/28", "2027.5.28", "20270528", "28 May 2027", "28-May-2027", "28-May-27",
        "May 28, 2027", "28th May 2027", "2027-05-28 09:05:00", "2027-05-28T09:05", "28 May", "May 28",
        " 2027-05-28 "}) {
    const auto read = read_date(written, today);
    CHECK_MESSAGE(day(read) == "2027-05-28", written);
    CHECK_MESSAGE(read->ordered, written);
  }
}

TEST_CASE("day and month in either order are both kept") {
  const auto both = read_date("06/07/2027", today);
  CHECK(day(both) == "2027-07-06");
  CHECK(day(both, true) == "2027-06-07");
  CHECK_FALSE(both->ordered);
  const auto one = read_date("28.5.27", today);
  CHECK(day(one) == "2027-05-28");
  CHECK(day(one, true) == "none");
  const auto other = read_date("05/28/2027", today);
  CHECK(day(other) == "none");
  CHECK(day(other, true) == "2027-05-28");
}

TEST_CASE("a date without a year is the last such day") {
  CHECK(day(read_date("06/07", today)) == "2026-07-06");  // 6 July 2027 is to come
  CHECK(day(read_date("06/07", today), true) == "2027-06-07");
  CHECK(day(read_date("29 Feb", today)) == "2024-02-29");
  CHECK(day(read_date("28 May", no_day)) == "unread");
}

TEST_CASE("what is no date is not read") {
  for (const char* other :
       {"", "tomorrow", "2027-02-29", "31/04/2027", "2027-13-01", "46535", "46535.5", "28", "May 2027",
        "28 Maximum 2027", "1/2/3/4", "00/00/2027", "5-28-207", "-28/05/2027"})
    CHECK_MESSAGE(day(read_date(other, today)) == "unread", other);
}

TEST_CASE("days since 1970 are those of the Gregorian calendar") {
  // date -u -d DAY +%s, divided by 86400 (coreutils)
  CHECK(read_date("1970-01-01", today)->day_first == 0);
  CHECK(read_date("2000-02-29", today)->day_first == 11016);
  CHECK(read_date("2027-05-28", today)->day_first == 20966);
  CHECK(iso_day(20966) == "2027-05-28");
}

TEST_CASE("times of day") {
  CHECK(read_time("9:05") == 545);
  CHECK(read_time("09:05:30") == 545);
  CHECK(read_time("0905") == 545);
  CHECK(read_time("9h05") == 545);
  CHECK(read_time("9:05 am") == 545);
  CHECK(read_time("1:30 pm") == 810);
  CHECK(read_time("1:30PM") == 810);
  CHECK(read_time("12:10 am") == 10);
  CHECK(read_time("12 pm") == 720);
  CHECK(read_time("PT09H05M00S") == 545);  // ISO 8601, as open documents keep it
  CHECK(read_time("2027-05-28 09:05:00") == 545);
  for (const char* other :
       {"", "9", "9.05", "24:00", "9:60", "9:5", "noon", "0.378", "13 pm", "0 am", "2460"})
    CHECK_MESSAGE(!read_time(other).has_value(), other);
}

TEST_CASE("blanks of every kind are no text") {
  CHECK(trimmed(" \t\r\n").empty());
  CHECK(trimmed("\xC2\xA0 \xE2\x80\xAF").empty());
  CHECK(trimmed("\xEF\xBB\xBFplot") == "plot");
  CHECK(trimmed(" a b ") == "a b");
}

}  // namespace cells_test
