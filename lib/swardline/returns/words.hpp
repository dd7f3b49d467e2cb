// The words of a count form: columns, statuses and the other fixed answers.
#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

namespace swardline {

/// A form's columns. One row is one species on one plot (or station of a transect) on one visit; a row
/// without a species says what became of a visit.
enum class ReturnColumn : std::uint8_t {
  plot,
  visit_date,
  start,
  finish,
  observer,
  second_observer,
  species,
  certainty,
  flowering_stems,
  twice_stems,  ///< of them, the stems in the plot's count-twice zone
  rosettes,
  count_method,
  area_searched_m2,
  frames,
  frame_m2,
  tape_m,
  station,  ///< of a transect's frames, from 1; blank for a whole plot or transect
  phase,
  lat,
  lon,
  fix_accuracy_m,
  fix_datum,
  status,
  photos,
  notes,
  sheet_id,
  entered_by
};
inline constexpr std::size_t return_columns = 27;

[[nodiscard]] const char* word(ReturnColumn column);  ///< "flowering_stems"
[[nodiscard]] std::optional<ReturnColumn> return_column(std::string_view heading);

/// What became of a plot on a visit. Only the first two carry counts.
enum class Fate : std::uint8_t {
  none,  ///< nothing written; with counts it stands for `counted`
  counted,
  part_counted,
  mown,  ///< not countable: the plants could not show
  grazed,
  burned,
  sprayed,
  not_found,  ///< the stake
  not_reached,
  no_permission,
  unsafe,
  under_water,
  not_survey_area,
  unknown  ///< a word that is not one of these
};
[[nodiscard]] const char* word(Fate fate);  ///< "not countable (mown)"
/// Reads a status however it is spaced or written large; "mown" alone too. `unknown` for other words.
[[nodiscard]] Fate fate_of(std::string_view text);
[[nodiscard]] constexpr bool carries_counts(Fate fate) {
  return fate == Fate::counted || fate == Fate::part_counted || fate == Fate::none;
}

enum class Certainty : std::uint8_t { sure, not_certain, unknown };
enum class CountMethod : std::uint8_t { counted, half_counted, by_class, unknown };
enum class Phase : std::uint8_t { none, bud, flower, capsule, past, unknown };
[[nodiscard]] const char* word(Certainty certainty);
[[nodiscard]] const char* word(CountMethod method);  ///< "counted", "half counted", "class"
[[nodiscard]] const char* word(Phase phase);

}  // namespace swardline
