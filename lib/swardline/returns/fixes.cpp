// Fixes from files that hold nothing else, to visits that have none.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/returns/row_reader.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

using PlotDay = std::pair<std::int32_t, Day>;  // plot and day

struct Fix {
  double lat = 0, lon = 0;
  float accuracy = std::numeric_limits<float>::quiet_NaN();
  bool apart = false;  ///< from another fix of the same visit
  std::string name;    ///< of the plot
};

/// Whether two fixes are within a metre of one another, near enough.
bool together(const Fix& a, const Fix& b) {
  constexpr double metres_a_degree = 111320;
  constexpr double to_radians = 3.14159265358979323846 / 180;
  const double north = (a.lat - b.lat) * metres_a_degree;
  const double east = (a.lon - b.lon) * metres_a_degree * std::cos(a.lat * to_radians);
  return north * north + east * east <= 1;
}

/// Rows by visit, of the plots that fixes speak of.
class Visits {
 public:
  Visits(const std::set<std::int32_t>& plots, std::vector<ReturnRow>& rows) {
    for (ReturnRow& row : rows)
      if (row.plot >= 0 && row.date != no_day && plots.count(row.plot) > 0)
        rows_[{row.plot, row.date}].push_back(&row);
  }
  [[nodiscard]] const std::vector<ReturnRow*>* of(const PlotDay& visit) const {
    const auto found = rows_.find(visit);
    return found == rows_.end() ? nullptr : &found->second;
  }
  /// The day of the plot's only visit; no_day: there is none, or more than one.
  [[nodiscard]] Day only_day(std::int32_t plot) const {
    const auto first = rows_.lower_bound({plot, no_day});
    if (first == rows_.end() || first->first.first != plot) return no_day;
    const auto next = std::next(first);
    return next != rows_.end() && next->first.first == plot ? no_day : first->first.second;
  }

 private:
  std::map<PlotDay, std::vector<ReturnRow*>> rows_;
};

bool blank_position(const ReturnRow& row) {
  return std::isnan(row.lat) && std::isnan(row.lon) && !row.cannot_read(ReturnColumn::lat) &&
         !row.cannot_read(ReturnColumn::lon);
}

constexpr std::size_t named_at_once = 5;

class Join {
 public:
  Join(const std::string& file, const Expected& expected, const Visits& visits, Flags& flags)
      : file_(file), expected_(expected), visits_(visits), flags_(flags) {}

  void run(const std::vector<ReturnRow>& fixes) {
    for (const ReturnRow& row : fixes) collect(row);
    for (const auto& [visit, fix] : fixes_) give(visit, fix);
    say();
  }

 private:
  void collect(const ReturnRow& row) {
    if (row.left_out) return;
    if (row.plot < 0 || std::isnan(row.lat) || std::isnan(row.lon)) {
      ++no_plot_;
      return;
    }
    Fix fix{row.lat, row.lon, row.fix_accuracy_m, false,
            expected_.plots[static_cast<std::size_t>(row.plot)].name};
    const bool dated = row.date != no_day && !row.date_doubtful;
    const Day day = dated ? row.date : visits_.only_day(row.plot);
    const auto [there, fresh] = fixes_.emplace(PlotDay{row.plot, day}, fix);
    if (!fresh && !together(there->second, fix)) there->second.apart = true;
  }

  void give(const PlotDay& visit, const Fix& fix) {
    const auto* rows = visits_.of(visit);
    if (rows == nullptr) return no_visit_.push_back(fix.name);
    if (fix.apart) return apart_.push_back(fix.name);
    // What the team wrote down goes before what its unit kept, for the whole visit.
    const auto has_none = [](const ReturnRow* row) { return blank_position(*row); };
    if (!std::all_of(rows->begin(), rows->end(), has_none)) {
      ++had_one_;
      return;
    }
    ++filled_;
    for (ReturnRow* row : *rows) {
      row->lat = fix.lat;
      row->lon = fix.lon;
      if (std::isnan(row->fix_accuracy_m) && !row->cannot_read(ReturnColumn::fix_accuracy_m))
        row->fix_accuracy_m = fix.accuracy;
    }
  }

  void say() const {
    std::string meaning =
        fmt::format("{} of {} fixes went to visits that had none", filled_, fixes_.size() + no_plot_);
    if (had_one_ > 0) meaning += fmt::format("; {} visits had one written down, which stands", had_one_);
    if (!no_visit_.empty()) meaning += "; no visit of that day for " + some_of(no_visit_, named_at_once);
    if (!apart_.empty())
      meaning += "; two fixes more than a metre apart, neither used, for " + some_of(apart_, named_at_once);
    if (no_plot_ > 0)
      meaning += fmt::format("; {} {} of no plot of this season", no_plot_, no_plot_ == 1 ? "is" : "are");
    flags_.add(Severity::note, "fixes", {file_, 0, {}}, meaning + ".",
               no_visit_.empty() && apart_.empty() ? std::string()
                                                   : "Write those fixes on the form where they are known.");
  }

  const std::string& file_;
  const Expected& expected_;
  const Visits& visits_;
  Flags& flags_;
  std::map<PlotDay, Fix> fixes_;
  std::size_t no_plot_ = 0, filled_ = 0, had_one_ = 0;
  std::vector<std::string> no_visit_, apart_;
};

}  // namespace

void join_fixes(const std::vector<std::pair<std::string, std::vector<ReturnRow>>>& fixes,
                const Expected& expected, std::vector<ReturnRow>& rows, Flags& flags) {
  if (fixes.empty()) return;
  std::set<std::int32_t> plots;
  for (const auto& [file, list] : fixes)
    for (const ReturnRow& row : list) plots.insert(row.plot);
  const Visits visits(plots, rows);
  for (const auto& [file, list] : fixes) Join(file, expected, visits, flags).run(list);
}

}  // namespace swardline
