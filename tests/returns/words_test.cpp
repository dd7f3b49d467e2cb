// Words of a count form, both ways.
#include "swardline/returns/words.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include "swardline/base/files.hpp"
#include "swardline/returns/return_flags.hpp"

namespace words_test {

using namespace swardline;

TEST_CASE("the reference of returns tells every column, status and check") {
  const std::string text =
      read_whole(std::filesystem::path(SWARDLINE_SOURCE_DIR) / "samples" / "returns-reference.md");
  const auto tells = [&](const std::string& words) {
    CHECK_MESSAGE(text.find(words) != std::string::npos, "not in the reference: ", words);
  };
  for (std::size_t i = 0; i < return_columns; ++i)
    tells(fmt::format("`{}`", word(static_cast<ReturnColumn>(i))));
  for (int i = static_cast<int>(Fate::counted); i < static_cast<int>(Fate::unknown); ++i) {
    // "not countable (grazed)" stands there as "(grazed)".
    const std::string fate = word(static_cast<Fate>(i));
    tells(fate.starts_with("not countable") ? fate.substr(fate.find('(')) : "`" + fate + "`");
  }
  for (const ReturnCheck& check : return_checks())
    tells(fmt::format("| {} | {} | {} |", check.number, check.name,
                      check.severity == Severity::stop  ? "STOP"
                      : check.severity == Severity::ask ? "ASK"
                                                        : "NOTE"));
}

TEST_CASE("every column's word reads back, however it is spaced or written large") {
  for (std::size_t i = 0; i < return_columns; ++i) {
    const auto column = static_cast<ReturnColumn>(i);
    CHECK(return_column(word(column)) == column);
  }
  CHECK(return_column("Flowering stems") == ReturnColumn::flowering_stems);
  CHECK(return_column(" AREA-searched_m2 ") == ReturnColumn::area_searched_m2);
  CHECK_FALSE(return_column("flowers").has_value());
}

TEST_CASE("a status reads back from its words, and from its reason alone") {
  for (int i = 0; i < static_cast<int>(Fate::unknown); ++i) {
    const auto fate = static_cast<Fate>(i);
    CHECK(fate_of(word(fate)) == fate);
  }
  CHECK(fate_of("Mown") == Fate::mown);
  CHECK(fate_of("not countable, mown") == Fate::mown);
  CHECK(fate_of("NOT  REACHED") == Fate::not_reached);
  CHECK(fate_of("gone fishing") == Fate::unknown);
  CHECK(carries_counts(Fate::part_counted));
  CHECK_FALSE(carries_counts(Fate::mown));
}

}  // namespace words_test
