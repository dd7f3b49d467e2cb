// Days that cannot be, and days that could be two.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <optional>
#include <set>
#include <tuple>
#include <unordered_map>

#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

/// Rows of one sheet with the same words in the date's cell: written once on paper.
struct SheetDay {
  std::uint32_t file;
  std::int32_t sheet, observer;
  Day date;
  std::string text;  ///< of dates that could not be read
  auto operator<=>(const SheetDay&) const = default;
};
using DaysOfSheets = std::map<SheetDay, std::vector<std::uint32_t>>;

/// "06/07" or "25.6.2027": numbers of one or two digits first.
struct Written {
  int first = 0, second = 0;
};
std::optional<Written> as_written(const std::string& text) {
  Written written;
  std::size_t at = 0;
  const auto number = [&](int& into) {
    const std::size_t begin = at;
    while (at < text.size() && text[at] >= '0' && text[at] <= '9' && at - begin < 2)
      into = into * 10 + (text[at++] - '0');
    return at > begin;
  };
  if (!number(written.first) || at >= text.size() || (text[at] != '/' && text[at] != '.' && text[at] != '-'))
    return {};
  ++at;
  if (!number(written.second)) return {};
  if (at < text.size() && text[at] >= '0' && text[at] <= '9') return {};
  return written;
}

class Dates {
 public:
  Dates(const Material& material, Findings& findings) : material_(material), findings_(findings) {}

  void look() {
    DaysOfSheets impossible, doubtful;
    const std::vector<ReturnRow>& rows = material_.returns.rows;
    for (std::uint32_t i = 0; i < rows.size(); ++i) {
      const ReturnRow& row = rows[i];
      // Of a row whose plot is not known nothing else is asked.
      if (row.left_out || row.plot < 0) continue;
      if (is_impossible(row)) {
        if (row.date == no_day && !needs_date(row)) continue;
        const std::string text =
            row.date == no_day ? material_.text(i, ReturnColumn::visit_date) : std::string();
        impossible[{row.at.file, row.sheet, row.observer, row.date, text}].push_back(i);
      } else if (row.date_doubtful && other_way_round(row.date) != no_day &&
                 other_way_round(row.date) != row.date) {
        doubtful[{row.at.file, row.sheet, row.observer, row.date, {}}].push_back(i);
      }
    }
    for (const auto& [key, group] : impossible) say_impossible(key, group);
    if (!doubtful.empty()) remember_certain();
    for (const auto& [key, group] : doubtful) say_doubtful(key, group);
  }

 private:
  [[nodiscard]] bool is_impossible(const ReturnRow& row) const {
    if (row.date == no_day) return true;
    if (row.date != last_) {
      last_ = row.date;
      last_impossible_ = to_come(row.date) || other_year(row.date);
    }
    return last_impossible_;
  }
  [[nodiscard]] bool to_come(Day day) const {
    return material_.expected.today != no_day && day > material_.expected.today;
  }
  [[nodiscard]] bool other_year(Day day) const {
    return material_.year != 0 && year_of(day) != material_.year;
  }

  /// A printed row that nobody filled in has no date to be wrong.
  [[nodiscard]] static bool needs_date(const ReturnRow& row) {
    if (row.cannot_read(ReturnColumn::visit_date)) return true;
    // Nor does a plot that nobody could count, though the day would be good to know.
    return carries_counts(row.fate) && (written(row) || row.fate != Fate::none || row.observer >= 0);
  }

  void say_impossible(const SheetDay& key, const std::vector<std::uint32_t>& rows) {
    std::string value = key.date == no_day ? key.text : iso_date(key.date);
    std::string reason;
    if (key.date != no_day) {
      reason = fmt::format("visit_date {}", value);
      if (to_come(key.date))
        reason += fmt::format(" is to come: today is {}", iso_date(material_.expected.today));
      if (other_year(key.date))
        reason +=
            fmt::format("{} the season's year is {}", to_come(key.date) ? ", and" : ":", material_.year);
      reason += '.';
    } else if (key.text.empty()) {
      reason = fmt::format("{}: visit_date is empty.", material_.place(rows.front()));
    } else {
      reason = fmt::format("visit_date '{}' is no date.", key.text);
    }
    findings_.add({15, rows, plot_of(rows), ReturnColumn::visit_date, std::move(value), std::move(reason),
                   "Correct the date from the sheet, like 2027-05-28."});
  }

  [[nodiscard]] std::int32_t plot_of(const std::vector<std::uint32_t>& rows) const {
    const std::int32_t plot = material_.row(rows.front()).plot;
    for (const std::uint32_t r : rows)
      if (material_.row(r).plot != plot) return -1;
    return plot;
  }

  /// Days that are certain, by sheet and by observer; and rows that show how a file writes its days.
  void remember_certain() {
    std::unordered_map<std::uint32_t, int> looked_at;
    const std::vector<ReturnRow>& rows = material_.returns.rows;
    for (std::uint32_t i = 0; i < rows.size(); ++i) {
      const ReturnRow& row = rows[i];
      if (row.left_out || row.date == no_day || row.date_doubtful || is_impossible(row)) continue;
      if (row.sheet >= 0) of_sheet_[{row.at.file, row.sheet}].insert(row.date);
      if (row.observer >= 0) of_observer_[row.observer].insert(row.date);
      constexpr int enough = 500;  // cells of a file, to learn how it writes its days
      if (order_.contains(row.at.file) || ++looked_at[row.at.file] > enough) continue;
      const auto written = as_written(material_.text(i, ReturnColumn::visit_date));
      if (written && written->first > 12 && written->second <= 12) order_[row.at.file] = {i, true};
      if (written && written->second > 12 && written->first <= 12) order_[row.at.file] = {i, false};
    }
  }

  /// What settles a doubt, in words; empty where nothing does.
  [[nodiscard]] std::string evidence(const SheetDay& key, Day other, const std::string& text) const {
    const auto from = [&](const std::set<Day>& days, const std::string& who) -> std::string {
      const bool one = days.contains(key.date), two = days.contains(other);
      if (one == two) return {};
      return fmt::format("{} {}", who, short_date(one ? key.date : other));
    };
    if (const auto sheet = of_sheet_.find({key.file, key.sheet}); sheet != of_sheet_.end())
      if (const std::string words = from(sheet->second, "other rows of the sheet say"); !words.empty())
        return words;
    if (const auto team = of_observer_.find(key.observer); team != of_observer_.end())
      if (const std::string words = from(team->second, "the same observer's other rows say"); !words.empty())
        return words;
    if (const auto order = order_.find(key.file); order != order_.end())
      if (const auto written = as_written(text)) {
        const int month = order->second.day_first ? written->second : written->first;
        const int day = order->second.day_first ? written->first : written->second;
        if (const Day meant = day_of(year_of(key.date), month, day); meant == key.date || meant == other)
          return fmt::format("{}, '{}', shows that this file has the {} first, hence {}",
                             material_.place(order->second.row),
                             material_.text(order->second.row, ReturnColumn::visit_date),
                             order->second.day_first ? "day" : "month", short_date(meant));
      }
    const bool this_comes = to_come(key.date), other_comes = to_come(other);
    if (this_comes != other_comes)
      return fmt::format("{} is still to come", short_date(this_comes ? key.date : other));
    return {};
  }

  void say_doubtful(const SheetDay& key, const std::vector<std::uint32_t>& rows) {
    const std::string text = material_.text(rows.front(), ReturnColumn::visit_date);
    const Day other = other_way_round(key.date);
    const std::string settles = evidence(key, other, text);
    findings_.add(
        {16, rows, plot_of(rows), ReturnColumn::visit_date, text,
         fmt::format("{} could be {} or {}{}.", text.empty() ? iso_date(key.date) : text,
                     short_date(key.date), short_date(other), settles.empty() ? "" : "; " + settles),
         settles.empty() ? "Ask the team, then confirm or correct the date."
                         : "Confirm or correct the date."});
  }

  struct Order {
    std::uint32_t row;
    bool day_first;
  };
  const Material& material_;
  Findings& findings_;
  std::map<std::pair<std::uint32_t, std::int32_t>, std::set<Day>> of_sheet_;
  std::unordered_map<std::int32_t, std::set<Day>> of_observer_;
  std::unordered_map<std::uint32_t, Order> order_;  ///< by file
  mutable Day last_ = no_day;                       // most rows have the day of the row before
  mutable bool last_impossible_ = false;
};

}  // namespace

void check_dates(const Material& material, Findings& findings) { Dates(material, findings).look(); }

}  // namespace swardline::return_parts
