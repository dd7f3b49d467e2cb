// Tables of text: RFC 4180, delimiters, encodings, row numbers, and what is refused.
#include "swardline/returns/table.hpp"

#include <cpl_conv.h>
#include <cpl_string.h>
#include <doctest/doctest.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <array>
#include <memory>

#include "returned_season.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/words.hpp"

namespace table_test {

using namespace swardline;

namespace {

bool knows(const std::string& heading) { return return_column(heading).has_value(); }

std::vector<std::string> row(const Table& table, std::uint32_t number) {
  RowCells cells;
  table.read_row(number, cells);
  return {cells.cells.begin(), cells.cells.end()};
}

using Words = std::vector<std::string>;

Table table_of(const std::string& text) { return {"t.csv", text, knows}; }

std::string trouble(const std::string& text) {
  try {
    (void)table_of(text);
  } catch (const InputError& error) {
    return error.what();
  }
  return {};
}

}  // namespace

// RFC 4180 (Shafranovich 2005), section 2, the examples under 1, 2, 3, 5, 6 and 7.
TEST_CASE("RFC 4180: lines, with and without the last line end") {
  for (const char* text : {"aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", "aaa,bbb,ccc\r\nzzz,yyy,xxx"}) {
    const Table table = table_of(text);
    CHECK(table.headings() == Words{"aaa", "bbb", "ccc"});
    CHECK(table.last_row() == 2);
    CHECK(row(table, 2) == Words{"zzz", "yyy", "xxx"});
  }
}
TEST_CASE("RFC 4180: quoted cells, line breaks and quotation marks in them") {
  CHECK(row(table_of("a,b,c\r\n\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx"), 2) == Words{"aaa", "bbb", "ccc"});
  const Table broken = table_of("a,b,c\r\n\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx");
  CHECK(row(broken, 2) == Words{"aaa", "b\r\nbb", "ccc"});
  CHECK(row(broken, 3) == Words{"zzz", "yyy", "xxx"});  // the spreadsheet's row 3, the file's line 4
  CHECK(row(table_of("a,b,c\r\n\"aaa\",\"b\"\"bb\",\"ccc\""), 2) == Words{"aaa", "b\"bb", "ccc"});
}
TEST_CASE("RFC 4180: blanks are part of a cell") {
  CHECK(row(table_of("a,b\r\n x , y \r\n"), 2) == Words{" x ", " y "});
}

TEST_CASE("all line ends and delimiters are found out") {
  for (const char* end : {"\n", "\r\n", "\r"})
    for (const char delimiter : {',', ';', '\t', '|'}) {
      const std::string text =
          fmt::format("plot{0}notes{1}QPR07E{0}\"a{0}b{1}c\"{1}QPR01K{0}{1}", delimiter, end);
      const Table table = table_of(text);
      CHECK(table.delimiter() == delimiter);
      REQUIRE(table.last_row() == 3);
      CHECK(row(table, 2) == Words{"QPR07E", fmt::format("a{}b{}c", delimiter, end)});
      CHECK(row(table, 3) == Words{"QPR01K", ""});
    }
  // A delimiter of more cells that knows no heading does not win.
  CHECK(table_of("plot;first, second, third\nQPR07E;x\n").delimiter() == ';');
  CHECK(row(table_of("sep=;\r\nplot;notes\r\nQPR07E;x\r\n"), 2) == Words{"QPR07E", "x"});
}

TEST_CASE("a cell too many is refused though the last is empty: a decimal comma without quotation marks") {
  CHECK(trouble("plot,species,area_searched_m2,notes\nQPR07E,PTUB,19,5,\n")
            .find("has 5 cells where there are 4 headings") != std::string::npos);
  CHECK(trouble("plot,species,area_searched_m2,notes\n,,,,,\nQPR07E,PTUB,19,\n").empty());
  CHECK(trouble("plot,species,notes,,\nQPR07E,PTUB,,,\nQPR07E,PTUB,x\n").empty());
  CHECK_FALSE(trouble("plot,species,notes,\nQPR07E,PTUB,x,,\n").empty());
}

TEST_CASE("blank rows keep their number, and blank cells behind the last heading do no harm") {
  const Table table = table_of("plot,notes,,\n\n,,,\nQPR07E,x,,\n");
  CHECK(table.headings() == Words{"plot", "notes"});
  CHECK(table.last_row() == 4);
  RowCells cells;
  table.read_row(2, cells);
  CHECK(is_blank(cells));
  table.read_row(3, cells);
  CHECK(is_blank(cells));
  CHECK(row(table, 4).front() == "QPR07E");
}

TEST_CASE("what is no table is refused with its row and what to do") {
  CHECK(trouble("") == "t.csv: is empty. Send the table again.");
  CHECK(trouble(" \n\n") == "t.csv: is empty. Send the table again.");
  CHECK(trouble("plot,notes\nQPR07E\nQPR01K,a,b\n") ==
        "t.csv, row 2: has 1 cells where there are 2 headings (and 1 more rows). Look for a comma too many "
        "or too few; "
        "a cell that holds one stands between quotation marks.");
  CHECK(trouble("plot,notes\n\"a\nb\",c\nQPR01K,a,b\n").starts_with("t.csv, row 3: has 3 cells"));
  CHECK(trouble("plot,notes\nQPR07E,\"open\nQPR01K,x\n") ==
        "t.csv, row 2: a quotation mark opens a cell and none closes it. Close it, or take it away.");
  CHECK(trouble("plot,notes\nQPR07E,\"a\"b\n").starts_with("t.csv, row 2: a cell goes on after its closing"));
  const std::string longest(Table::longest_row, 'x');
  CHECK(trouble("plot,notes\nQPR07E,x\nQPR01K," + longest + "\n")
            .starts_with("t.csv, row 3: is longer than 1 MB"));
}

TEST_CASE("the same cells as GDAL's reader makes of the same text") {
  GDALAllRegister();
  const ReturnedSeason at;
  std::string text = "plot,notes,species\n";
  const std::array<std::string, 6> pieces = {"x", "\"a,b\"",          "\"\"\"\"", "\"two\nlines\"",
                                             "",  "\xC3\xA9t\xC3\xA9"};
  for (std::size_t i = 0; i < 500; ++i)
    text += pieces[i % 6] + ',' + pieces[i * 7 / 3 % 6] + ',' + pieces[(i * i + 1) % 6] + "\nlast,of,all\n";
  const auto file = at.put("both.csv", text);
  const std::unique_ptr<GDALDataset> dataset(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
  REQUIRE(dataset);
  const Table table = table_of(text);
  std::uint32_t number = 1;
  for (const OGRFeatureUniquePtr& feature : *dataset->GetLayer(0)) {
    ++number;
    Words cells;
    for (int i = 0; i < 3; ++i) cells.emplace_back(feature->GetFieldAsString(i));
    CHECK(row(table, number) == cells);
  }
  CHECK(number == table.last_row());
  CHECK(number == 1001);
}

TEST_CASE("encodings are told apart and brought to UTF-8") {
  const ReturnedSeason at;
  const std::string plain = "plot,notes\nQPR07E,\xC3\xA9t\xC3\xA9 \xE2\x82\xAC\n";  // été €
  const auto read = [&](const std::string& bytes, Flags& flags) {
    return read_table(at.put("e.csv", bytes), "e.csv", knows, flags).table;
  };
  const auto wide = [&](bool big) {
    wchar_t* letters = CPLRecodeToWChar(plain.c_str(), CPL_ENC_UTF8, CPL_ENC_UCS2);
    std::string bytes = big ? "\xFE\xFF" : "\xFF\xFE";
    for (const wchar_t* c = letters; *c != 0; ++c) {
      const auto low = static_cast<char>(*c & 0xFF), high = static_cast<char>(*c >> 8 & 0xFF);
      bytes += big ? std::string{high, low} : std::string{low, high};
    }
    CPLFree(letters);
    return bytes;
  };
  for (const std::string& bytes : {plain, "\xEF\xBB\xBF" + plain, wide(false), wide(true)}) {
    Flags flags;
    const Table table = read(bytes, flags);
    CHECK(table.headings().front() == "plot");
    CHECK(row(table, 2) == Words{"QPR07E", "\xC3\xA9t\xC3\xA9 \xE2\x82\xAC"});
    CHECK(flags.all().empty());
  }
  Flags flags;
  const Table table = read("plot,notes\nQPR07E,\xE9t\xE9 \x80\n", flags);
  CHECK(row(table, 2) == Words{"QPR07E", "\xC3\xA9t\xC3\xA9 \xE2\x82\xAC"});
  REQUIRE(flags.all().size() == 1);
  CHECK(flags.all()[0].severity == Severity::note);
  // The last byte alone tells that it is no UTF-8.
  Flags last;
  CHECK(row(read("plot,notes\nQPR07E,caf\xE9", last), 2)[1] == "caf\xC3\xA9");
}

TEST_CASE("every byte of code page 1252 is the character of the Encoding Standard") {
  // WHATWG Encoding Standard, index windows-1252, bytes 0x80 to 0x9F (from memory); 0xA0 to 0xFF are U+00A0
  // to U+00FF. Five bytes have no character of their own; that standard passes them on as controls, here they
  // are U+FFFD and said.
  constexpr std::array<int, 32> index = {0x20AC, -1,     0x201A, 0x0192, 0x201E, 0x2026, 0x2020, 0x2021,
                                         0x02C6, 0x2030, 0x0160, 0x2039, 0x0152, -1,     0x017D, -1,
                                         -1,     0x2018, 0x2019, 0x201C, 0x201D, 0x2022, 0x2013, 0x2014,
                                         0x02DC, 0x2122, 0x0161, 0x203A, 0x0153, -1,     0x017E, 0x0178};
  std::string bytes = "plot,notes\n", wanted;
  bytes += "QPR07E,";
  for (int byte = 0x80; byte <= 0xFF; ++byte) {
    bytes += static_cast<char>(byte);
    const int code = byte >= 0xA0 ? byte : index[static_cast<std::size_t>(byte - 0x80)];
    const std::array<wchar_t, 2> letter = {static_cast<wchar_t>(code < 0 ? 0xFFFD : code), 0};
    char* utf8 = CPLRecodeFromWChar(letter.data(), CPL_ENC_UCS2, CPL_ENC_UTF8);
    wanted += utf8;
    CPLFree(utf8);
  }
  const ReturnedSeason at;
  Flags flags;
  const Table table = read_table(at.put("cp.csv", bytes + "\n"), "cp.csv", knows, flags).table;
  CHECK(row(table, 2)[1] == wanted);
  REQUIRE(flags.all().size() == 2);
  CHECK(flags.all()[1].meaning.starts_with("5 bytes are no characters of code page 1252"));
}

TEST_CASE("UTF-8 is told as RFC 3629 has it") {
  for (const char* good :
       {"", "plain text of more than eight bytes", "\xC2\x80", "\xEF\xBF\xBF", "\xF4\x8F\xBF\xBF"})
    CHECK(is_utf8(good));
  // Overlong forms, surrogates, past U+10FFFF, cut short, a lone continuation.
  for (const char* bad : {"\xC0\x80", "\xC1\xBF", "\xE0\x80\x80", "\xED\xA0\x80", "\xF4\x90\x80\x80", "\xC3",
                          "\x80", "\xFF", "eight ok and \xE9 then"})
    CHECK_FALSE(is_utf8(bad));
}

}  // namespace table_test
