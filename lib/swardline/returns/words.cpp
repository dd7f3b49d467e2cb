#include "swardline/returns/words.hpp"

#include <algorithm>
#include <cctype>

namespace swardline {
namespace {

constexpr std::array<const char*, return_columns> column_words = {"plot",
                                                                  "visit_date",
                                                                  "start",
                                                                  "finish",
                                                                  "observer",
                                                                  "second_observer",
                                                                  "species",
                                                                  "certainty",
                                                                  "flowering_stems",
                                                                  "twice_stems",
                                                                  "rosettes",
                                                                  "count_method",
                                                                  "area_searched_m2",
                                                                  "frames",
                                                                  "frame_m2",
                                                                  "tape_m",
                                                                  "station",
                                                                  "phase",
                                                                  "lat",
                                                                  "lon",
                                                                  "fix_accuracy_m",
                                                                  "fix_datum",
                                                                  "status",
                                                                  "photos",
                                                                  "notes",
                                                                  "sheet_id",
                                                                  "entered_by"};

struct FateWord {
  Fate fate;
  const char* word;
  const char* short_word;  ///< also read; empty: none
};
constexpr FateWord fate_words[] = {
    {Fate::none, "", ""},
    {Fate::counted, "counted", ""},
    {Fate::part_counted, "part counted", "partly counted"},
    {Fate::mown, "not countable (mown)", "mown"},
    {Fate::grazed, "not countable (grazed)", "grazed"},
    {Fate::burned, "not countable (burned)", "burned"},
    {Fate::sprayed, "not countable (sprayed)", "sprayed"},
    {Fate::not_found, "not found (stake)", "not found"},
    {Fate::not_reached, "not reached", ""},
    {Fate::no_permission, "no permission", ""},
    {Fate::unsafe, "unsafe", ""},
    {Fate::under_water, "under water", ""},
    {Fate::not_survey_area, "not survey area", ""},
};

/// Lower case, with one blank for every run of blanks, dashes, underscores, commas and brackets.
std::string plain(std::string_view text) {
  std::string out;
  for (const char c : text) {
    const auto u = static_cast<unsigned char>(c);
    if (std::isalnum(u) != 0)
      out += static_cast<char>(std::tolower(u));
    else if (!out.empty() && out.back() != ' ')
      out += ' ';
  }
  while (!out.empty() && out.back() == ' ') out.pop_back();
  return out;
}

}  // namespace

const char* word(ReturnColumn column) { return column_words.at(static_cast<std::size_t>(column)); }

std::optional<ReturnColumn> return_column(std::string_view heading) {
  std::string wanted = plain(heading);
  std::replace(wanted.begin(), wanted.end(), ' ', '_');
  const auto* const found = std::find(column_words.begin(), column_words.end(), wanted);
  if (found == column_words.end()) return std::nullopt;
  return static_cast<ReturnColumn>(found - column_words.begin());
}

const char* word(Fate fate) {
  for (const FateWord& one : fate_words)
    if (one.fate == fate) return one.word;
  return "unknown";
}

Fate fate_of(std::string_view text) {
  const std::string wanted = plain(text);
  for (const FateWord& one : fate_words)
    if (wanted == plain(one.word) || (*one.short_word != 0 && wanted == one.short_word)) return one.fate;
  return Fate::unknown;
}

const char* word(Certainty certainty) {
  return certainty == Certainty::sure          ? "sure"
         : certainty == Certainty::not_certain ? "not certain"
                                               : "unknown";
}

const char* word(CountMethod method) {
  switch (method) {
    case CountMethod::counted:
      return "counted";
    case CountMethod::half_counted:
      return "half counted";
    case CountMethod::by_class:
      return "class";
    case CountMethod::unknown:
      break;
  }
  return "unknown";
}

const char* word(Phase phase) {
  constexpr std::array words = {"", "bud", "flower", "capsule", "past", "unknown"};
  return words.at(static_cast<std::size_t>(phase));
}

}  // namespace swardline
