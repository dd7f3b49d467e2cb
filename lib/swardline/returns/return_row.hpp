// Returns as read: one record for every row received, small enough for a million of them.
#pragma once

#include <cstdint>
#include <functional>
#include <limits>
#include <string>
#include <string_view>
#include <unordered_map>
#include <vector>

#include "swardline/returns/words.hpp"
#include "swardline/season/days.hpp"

namespace swardline {

/// A row of what was received, as a spreadsheet numbers it: headings are row 1.
struct RowAt {
  std::uint32_t file = 0;  ///< index into Returns::files
  std::uint32_t row = 0;
  auto operator<=>(const RowAt&) const = default;
};

/// Whole numbers are -1 where the cell is blank, real ones NaN. A cell that holds something that cannot be
/// read is as if blank and has its bit in `unread`; its text stands in ReturnedFile.
struct ReturnRow {
  RowAt at;
  std::int32_t plot = -1;     ///< index into Expected::plots; -1: none of them
  std::int32_t species = -1;  ///< index into Season::sheets; -1: none named, or none of them
  std::int32_t observer = -1, second_observer = -1, sheet = -1;  ///< index into Returns::texts
  Day date = no_day;
  std::int16_t start = -1, finish = -1;  ///< minutes since midnight
  std::int16_t frames = -1, station = -1;
  std::int32_t stems = -1, twice_stems = -1, rosettes = -1;
  float area_searched_m2 = std::numeric_limits<float>::quiet_NaN();
  float frame_m2 = std::numeric_limits<float>::quiet_NaN();
  float tape_m = std::numeric_limits<float>::quiet_NaN();
  float fix_accuracy_m = std::numeric_limits<float>::quiet_NaN();
  double lat = std::numeric_limits<double>::quiet_NaN();
  double lon = std::numeric_limits<double>::quiet_NaN();
  Fate fate = Fate::none;
  Certainty certainty = Certainty::sure;
  CountMethod method = CountMethod::counted;
  Phase phase = Phase::none;
  bool has_photo = false;
  bool date_doubtful = false;  ///< day and month could be the other way round
  bool left_out = false;       ///< by a correction
  std::uint32_t unread = 0;    ///< a bit for each ReturnColumn
  [[nodiscard]] bool cannot_read(ReturnColumn column) const {
    return (unread >> static_cast<unsigned>(column) & 1U) != 0;
  }
};

/// Texts that come many times, each kept once.
class TextPool {
 public:
  [[nodiscard]] std::int32_t index_of(std::string_view text);  ///< -1 for an empty text; adds what is new
  [[nodiscard]] const std::string& text(std::int32_t index) const;
  [[nodiscard]] std::size_t size() const { return texts_.size(); }

 private:
  struct Hash {
    using is_transparent = void;
    std::size_t operator()(std::string_view text) const { return std::hash<std::string_view>{}(text); }
  };
  std::vector<std::string> texts_;
  std::unordered_map<std::string, std::int32_t, Hash, std::equal_to<>> index_;
};

}  // namespace swardline
