#include "swardline/base/text.hpp"

#include <doctest/doctest.h>

#include <cmath>
#include <limits>
#include <string>
#include <vector>

namespace text_test {

using namespace swardline;

TEST_CASE("the nearest known word is found for a likely slip only") {
  const std::vector<std::string> keys = {"allocation", "apart_m", "bearing", "edge", "size_m", "total"};
  CHECK(nearest_word("alocation", keys) == "allocation");
  CHECK(nearest_word("bearnig", keys) == "bearing");
  CHECK(nearest_word("Total", keys) == "total");
  CHECK(nearest_word("size", keys) == "size_m");
  CHECK(nearest_word("moisture", keys).empty());
  CHECK(nearest_word("xy", {"ab"}).empty());
  CHECK(nearest_word("x", {}).empty());
}

TEST_CASE("lists and numbers read as a person writes them") {
  CHECK(in_words({}).empty());
  CHECK(in_words({"a"}) == "a");
  CHECK(in_words({"a", "b"}) == "a and b");
  CHECK(in_words({"a", "b", "c"}) == "a, b and c");
  CHECK(grouped(0) == "0");
  CHECK(grouped(999) == "999");
  CHECK(grouped(1000) == "1,000");
  CHECK(grouped(12345678) == "12,345,678");
  CHECK(grouped(-1234) == "-1,234");
  CHECK(grouped(-123) == "-123");
  CHECK(grouped(std::numeric_limits<std::int64_t>::min()) == "-9,223,372,036,854,775,808");
}

TEST_CASE("the shortest decimal reads back to the same number") {
  CHECK(shortest(0.1) == "0.1");
  CHECK(shortest(10) == "10");
  CHECK(shortest(-2.5) == "-2.5");
  CHECK(shortest(std::numeric_limits<double>::infinity()) == "inf");
  CHECK(shortest(-std::numeric_limits<double>::infinity()) == "-inf");
  for (const double value : {1.0 / 3, 2e-300, 123456789.123, std::nextafter(1.0, 2.0)}) {
    CHECK(std::stod(shortest(value)) == value);
  }
}

TEST_CASE("hectares have two figures below ten and none after the point above") {
  CHECK(hectares(25000) == "2.5 ha");
  CHECK(hectares(1100) == "0.11 ha");
  CHECK(hectares(960000) == "96 ha");
  CHECK(hectares(99600) == "10 ha");
  CHECK(hectares(99400) == "9.9 ha");
  CHECK(hectares(9960) == "1.0 ha");
  CHECK(hectares(400) == "0.040 ha");
  CHECK(hectares(12345678) == "1,235 ha");
  CHECK(hectares(0) == "0 ha");
  CHECK(hectares(-25000) == "-2.5 ha");
}

TEST_CASE("file names made from codes are safe anywhere") {
  CHECK(safe_file_name("QPR-1_a") == "QPR-1_a");
  CHECK(safe_file_name("../etc/passwd") == "___etc_passwd");
  CHECK(safe_file_name("") == "_");
  CHECK(safe_file_name("con") == "con_");
  CHECK(safe_file_name("LPT1") == "LPT1_");
  CHECK(safe_file_name("a b\n") == "a_b_");
  const std::string first = safe_file_name(std::string(300, 'a') + "1");
  CHECK(first.size() == 100);
  CHECK(first != safe_file_name(std::string(300, 'a') + "2"));
}

TEST_CASE("text for XML is escaped and holds only characters XML 1.0 allows") {
  CHECK(xml_escape("a<b>&\"'") == "a&lt;b&gt;&amp;&quot;&apos;");
  CHECK(xml_escape("M\xC3\xBChle \xE2\x80\x93 \xF0\x9F\x8C\xB1") ==
        "M\xC3\xBChle \xE2\x80\x93 \xF0\x9F\x8C\xB1");
  CHECK(xml_escape(std::string("a\x01\0b\x1f\t\n", 7)) == "ab\t\n");
  CHECK(xml_escape("a\xFFz") == "az");            // no UTF-8 at all
  CHECK(xml_escape("a\xC3") == "a");              // cut short
  CHECK(xml_escape("\xC0\xAF") == "");            // overlong
  CHECK(xml_escape("\xED\xA0\x80|") == "|");      // surrogate
  CHECK(xml_escape("\xEF\xBF\xBE|") == "|");      // U+FFFE
  CHECK(xml_escape("\xF4\x90\x80\x80|") == "|");  // beyond U+10FFFF
  // What would turn the text after it goes; a mark and Hebrew letters stay (Unicode's UAX 9).
  for (const char* turning :
       {"\u202A", "\u202B", "\u202C", "\u202D", "\u202E", "\u2066", "\u2067", "\u2068", "\u2069"})
    CHECK(xml_escape(std::string("a") + turning + "b") == "ab");
  CHECK(xml_escape("\u05D0\u200F|\u200E\u061C\u2065\u206A") == "\u05D0\u200F|\u200E\u061C\u2065\u206A");
}

TEST_CASE("text for JSON is quoted") {
  CHECK(json_quote("a\"b\\c\n\t") == R"("a\"b\\c\n\t")");
  CHECK(json_quote(std::string("\x01\0", 2)) == R"("\u0001\u0000")");
  CHECK(json_quote("M\xC3\xBChle") == "\"M\xC3\xBChle\"");
  CHECK(json_quote("\xFF") == R"("\ufffd")");
}

TEST_CASE("a CSV field is quoted where needed and never runs as a formula") {
  CHECK(csv_field("plain") == "plain");
  CHECK(csv_field("a,b") == "\"a,b\"");
  CHECK(csv_field("say \"x\"\n") == "\"say \"\"x\"\"\n\"");
  CHECK(csv_field("=1+2") == "'=1+2");
  CHECK(csv_field("@SUM(A1,A2)") == "\"'@SUM(A1,A2)\"");
  CHECK(csv_field("-12.5") == "-12.5");
  CHECK(csv_field("+4e3") == "+4e3");
  CHECK(csv_field("-") == "'-");
  CHECK(csv_field("+-5") == "'+-5");
  CHECK(csv_field("-cmd") == "'-cmd");
  CHECK(csv_field("-inf") == "'-inf");
  CHECK(csv_field("\tx") == "'\tx");
  CHECK(csv_field("\rx") == "\"'\rx\"");
  CHECK(csv_field("").empty());
}

TEST_CASE("codes a spreadsheet would change are known") {
  // Common practice; that programs turn names such as MARCH1 and SEPT2 into dates is
  // described by Ziemann, Eren & El-Osta 2016, Gene name errors are widespread in the
  // scientific literature, Genome Biology 17:177 (from memory).
  for (const char* code : {"MAR05",        "1E05", "007", "SEPT2", "MARCH1", "Dec-1", "5MAY",
                           "1-2",          "3/4",  "1.5", "12:30", "1.0",    "-5",    "1e5",
                           "123456789012", "TRUE", "5%",  " 007",  "1-2-27", "5 AM",  "3-JUN-27"}) {
    CAPTURE(code);
    CHECK(spreadsheet_misreads(code));
  }
  for (const char* code : {"QPR", "PTUB", "MAR", "12", "A1", "1A", "QPR-1", "MART5", "MAR123", "5A", "E05",
                           "", "A-1-2", "NO7", "0"}) {
    CAPTURE(code);
    CHECK_FALSE(spreadsheet_misreads(code));
  }
}

TEST_CASE("a cell written for spreadsheets reads back without its apostrophe") {
  for (const char* text : {"=1+1", "-north", "@home", "+", "plain", "", "'quoted'"})
    CHECK(without_guard(csv_field(text)) == text);
  CHECK(without_guard("'s Hertogenbosch") == "'s Hertogenbosch");
}

}  // namespace text_test
