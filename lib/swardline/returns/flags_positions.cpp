// Fixes: far from their plots, of poor accuracy, with axes swapped, signs lost or minutes typed as decimals.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include "swardline/returns/fixes.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

constexpr double lost_m = 10000;  // swapped axes and lost signs put a fix at least this far off
constexpr double found_m = 1000;  // and putting them right brings it at least this near
constexpr double far_better = 4;  // minutes read as minutes must bring a fix this many times nearer

/// Another way of reading what was typed.
struct Reading {
  double lat, lon;
  const char* words;
};

std::array<Reading, 6> turned(double lat, double lon) {
  return {{{lon, lat, "swapped?"},
           {lat, -lon, "sign of the longitude lost?"},
           {-lat, lon, "sign of the latitude lost?"},
           {-lat, -lon, "both signs lost?"},
           {lon, -lat, "swapped, and a sign lost?"},
           {-lon, lat, "swapped, and a sign lost?"}}};
}

/// 38.00247 typed from 38 deg 00.247'; none where the digits after the point are past 59 minutes.
std::optional<double> minutes_as_typed(double typed) {
  const double whole = std::trunc(typed);
  const double minutes = std::abs(typed - whole) * 100;
  if (minutes >= 60) return {};
  return whole + std::copysign(minutes / 60, typed);
}

/// 38.0014 typed from 38 deg 00' 14".
std::optional<double> seconds_as_typed(double typed) {
  const double whole = std::trunc(typed);
  const double hundreds = std::abs(typed - whole) * 100;
  const double minutes = std::floor(hundreds + 1e-9);
  const double seconds = std::max(0.0, (hundreds - minutes) * 100);
  if (minutes >= 60 || seconds >= 60) return {};
  return whole + std::copysign(minutes / 60 + seconds / 3600, typed);
}

/// Degrees to a tenth of a metre, without the zeros at the end.
std::string degrees(double value) {
  std::string text = fmt::format("{:.6f}", value);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text;
}

/// The degrees and minutes that were meant: "38 deg 00.247'".
std::string in_minutes(double typed) {
  const double whole = std::trunc(typed);
  return fmt::format("{:.0f} deg {:06.3f}'", std::abs(whole), std::abs(typed - whole) * 100);
}
std::string in_seconds(double typed) {
  const double whole = std::trunc(typed);
  const double hundreds = std::abs(typed - whole) * 100;
  const double minutes = std::floor(hundreds + 1e-9);
  return fmt::format("{:.0f} deg {:02.0f}' {:04.1f}\"", std::abs(whole), minutes,
                     std::max(0.0, (hundreds - minutes) * 100));
}

/// Slips of one kind by one observer in one file: one cause.
struct Slip {
  int check = 0;
  ReturnColumn column = ReturnColumn::lat;
  std::int32_t plot = -1;
  std::size_t fixes = 0;
  std::vector<std::uint32_t> rows;
  std::string value, reason, next_step;
};

class Positions {
 public:
  Positions(const Material& material, Findings& findings) : material_(material), findings_(findings) {}

  void look() {
    for (std::uint32_t v = 0; v < material_.visits.size(); ++v) look_at(v);
    for (auto& [key, slip] : slips_) say(slip);
    check_shifts(material_, far_, findings_);
    check_small_shifts(material_, near_, findings_);
    for (const Fix& fix : far_) say_far(fix);
  }

 private:
  void look_at(std::uint32_t index) {
    const Visit& visit = material_.visits[index];
    std::vector<Fix> seen;
    for (const std::uint32_t r : material_.rows(visit)) {
      const ReturnRow& row = material_.row(r);
      const bool lat = !std::isnan(row.lat), lon = !std::isnan(row.lon);
      const bool unread = row.cannot_read(ReturnColumn::lat) || row.cannot_read(ReturnColumn::lon);
      if (!lat && !lon && !unread) continue;
      const bool known = std::any_of(seen.begin(), seen.end(), [&](const Fix& fix) {
        const ReturnRow& other = material_.row(fix.row);
        return same(row.lat, other.lat) && same(row.lon, other.lon) &&
               material_.row(fix.row).unread == row.unread;
      });
      if (known) continue;
      seen.push_back({index, r, seen.empty(), {}, 0, 0});
      if (unread || !lat || !lon)
        broken(seen.back(), unread);
      else
        place(seen.back());
    }
    accuracy(visit, seen);
  }

  static bool same(double a, double b) { return a == b || (std::isnan(a) && std::isnan(b)); }

  void broken(const Fix& fix, bool unread) {
    const ReturnRow& row = material_.row(fix.row);
    const bool by_lat = unread ? row.cannot_read(ReturnColumn::lat) : std::isnan(row.lat);
    const ReturnColumn column = by_lat ? ReturnColumn::lat : ReturnColumn::lon;
    const std::string text = material_.text(fix.row, column);
    if (unread)
      take(fix, 6, column, "unread", text,
           fmt::format("'{}' in {} is not a number of degrees.", text, word(column)),
           "Write decimal degrees, like 38.00412, or leave the fix out.");
    else
      take(fix, 6, column, "half", text, fmt::format("{} is empty, its other half is not.", word(column)),
           "Give both, or leave the fix out.");
  }

  void place(Fix& fix) {
    const ReturnRow& row = material_.row(fix.row);
    const Visit& visit = material_.visits[fix.visit];
    const ExpectedPlot& plot = material_.plot(visit.plot);
    const bool on_earth = std::abs(row.lat) <= 90 && std::abs(row.lon) <= 180;
    if (on_earth) {
      fix.offset = material_.places.from_plot(visit.plot, row.lat, row.lon);
      fix.metres = fix.offset.metres();
    }
    fix.allowed = material_.season.plan.returns.far_m + (plot.transect ? plot.reach_m : 0);
    if (std::isfinite(row.fix_accuracy_m)) fix.allowed += row.fix_accuracy_m;
    if (on_earth && fix.metres <= fix.allowed) {
      near_.push_back(fix);
      return;
    }
    if (say_turned(fix, on_earth) || say_minutes(fix)) return;
    far_.push_back(fix);
  }

  bool say_turned(const Fix& fix, bool on_earth) {
    const ReturnRow& row = material_.row(fix.row);
    if (on_earth && fix.metres < lost_m) return false;
    const std::string value = fmt::format("lat {}, lon {}", degrees(row.lat), degrees(row.lon));
    if (row.lat == 0 && row.lon == 0) {
      take(fix, 6, ReturnColumn::lat, "zero", value, value + ": a unit without a fix writes zeros.",
           "Empty both cells, or give the fix.");
      return true;
    }
    const std::int32_t plot = material_.visits[fix.visit].plot;
    for (const Reading& reading : turned(row.lat, row.lon)) {
      if (std::abs(reading.lat) > 90 || std::abs(reading.lon) > 360 ||
          material_.places.from_plot(plot, reading.lat, reading.lon).metres() > found_m)
        continue;
      take(fix, 6, ReturnColumn::lat, reading.words, value, fmt::format("{}: {}", value, reading.words),
           "Nothing was turned round. Correct lat and lon.");
      return true;
    }
    if (on_earth) return false;
    take(fix, 6, ReturnColumn::lat, "beyond", value, value + ": no such place on Earth.",
         "Look at the sheet; correct lat and lon.");
    return true;
  }

  bool say_minutes(const Fix& fix) {
    const ReturnRow& row = material_.row(fix.row);
    using How = std::optional<double> (*)(double);
    struct Form {
      How how;
      std::string (*words)(double);
      const char* from;
    };
    constexpr std::array<Form, 2> forms = {{{minutes_as_typed, in_minutes, "degrees-minutes"},
                                            {seconds_as_typed, in_seconds, "degrees, minutes and seconds"}}};
    for (const Form& form : forms) {
      const std::optional<double> lat = form.how(row.lat), lon = form.how(row.lon);
      if (lat && lon && fits(fix, *lat, *lon)) {
        say_typed(fix, row.lat, form.words(row.lat) + " and " + form.words(row.lon), form.from,
                  ReturnColumn::lat);
        return true;
      }
      if (lat && fits(fix, *lat, row.lon)) {
        say_typed(fix, row.lat, form.words(row.lat), form.from, ReturnColumn::lat);
        return true;
      }
      if (lon && fits(fix, row.lat, *lon)) {
        say_typed(fix, row.lon, form.words(row.lon), form.from, ReturnColumn::lon);
        return true;
      }
    }
    return false;
  }

  [[nodiscard]] bool fits(const Fix& fix, double lat, double lon) const {
    const double metres = material_.places.from_plot(material_.visits[fix.visit].plot, lat, lon).metres();
    return metres <= fix.allowed && metres * far_better <= fix.metres;
  }

  void say_typed(const Fix& fix, double typed, const std::string& meant, const char* from,
                 ReturnColumn column) {
    take(fix, 7, column, from, fmt::format("{}", typed),
         fmt::format("{} is {} off; {} fits. Typed from {}?", degrees(typed), metres_in_words(fix.metres),
                     meant, from),
         "Confirm the fix, or correct lat and lon to decimal degrees.");
  }

  void take(const Fix& fix, int check, ReturnColumn column, const char* kind, std::string value,
            std::string reason, std::string next_step) {
    const ReturnRow& row = material_.row(fix.row);
    Slip& slip = slips_[{row.at.file, row.observer, check, kind}];
    const std::vector<std::uint32_t> rows = rows_of(material_, fix);
    slip.rows.insert(slip.rows.end(), rows.begin(), rows.end());
    const std::int32_t plot = material_.visits[fix.visit].plot;
    if (slip.fixes++ == 0) {
      slip.check = check;
      slip.column = column;
      slip.plot = plot;
      slip.value = std::move(value);
      slip.reason = std::move(reason);
      slip.next_step = std::move(next_step);
    } else if (slip.plot != plot) {
      slip.plot = -1;
    }
  }

  void say(Slip& slip) {
    if (slip.fixes > 1)
      slip.reason += fmt::format(" So are {} of this observer in this file.",
                                 counted_words(slip.fixes - 1, "other fix", "other fixes"));
    findings_.add({slip.check, slip.rows, slip.plot, slip.column, std::move(slip.value),
                   std::move(slip.reason), std::move(slip.next_step)});
  }

  void say_far(const Fix& fix) {
    const ReturnRow& row = material_.row(fix.row);
    const Visit& visit = material_.visits[fix.visit];
    const std::string& name = material_.plot(visit.plot).name;
    std::string reason = fmt::format("{}: your fix is {} from the plot", name, metres_in_words(fix.metres));
    if (std::isfinite(row.fix_accuracy_m)) reason += fmt::format(", accuracy {} m", row.fix_accuracy_m);
    reason += '.';
    const NearPlot near = material_.places.nearest(row.lat, row.lon);
    if (near.plot >= 0 && near.plot != visit.plot && near.metres <= fix.allowed)
      reason += fmt::format(" Counted at another plot? {} is {} away.", material_.plot(near.plot).name,
                            metres_in_words(near.metres));
    findings_.add({3, rows_of(material_, fix), visit.plot, ReturnColumn::lat,
                   fmt::format("{}, {}", degrees(row.lat), degrees(row.lon)), std::move(reason),
                   "Confirm the fix, or correct the plot or the fix."});
  }

  /// 4, where nothing else speaks of the visit's fixes.
  void accuracy(const Visit& visit, const std::vector<Fix>& fixes) {
    const ExpectedPlot& plot = material_.plot(visit.plot);
    const double across = plot.reach_m > 0 ? 2 * plot.reach_m : std::sqrt(plot.plot_m2);
    for (const std::uint32_t r : material_.rows(visit)) {
      const ReturnRow& row = material_.row(r);
      const bool unread = row.cannot_read(ReturnColumn::fix_accuracy_m);
      const bool poor = across > 0 && std::isfinite(row.fix_accuracy_m) && row.fix_accuracy_m > across;
      if (!unread && !poor) continue;
      for (const Fix& fix : fixes)
        if (fix.metres > fix.allowed) return;
      const std::string text = material_.text(r, ReturnColumn::fix_accuracy_m);
      const std::vector<std::uint32_t> rows(material_.rows(visit).begin(), material_.rows(visit).end());
      if (unread)
        findings_.add({4, rows, visit.plot, ReturnColumn::fix_accuracy_m, text,
                       fmt::format("{}: '{}' in fix_accuracy_m is no number of metres.", plot.name, text),
                       "Kept, as if nothing were written there."});
      else
        findings_.add({4, rows, visit.plot, ReturnColumn::fix_accuracy_m,
                       fmt::format("{}", row.fix_accuracy_m),
                       fmt::format("{}: accuracy {} m is wider than the plot ({:.0f} m).", plot.name,
                                   row.fix_accuracy_m, across),
                       "Kept; not used to test habitat rules."});
      return;
    }
  }

  const Material& material_;
  Findings& findings_;
  std::vector<Fix> far_, near_;
  std::map<std::tuple<std::uint32_t, std::int32_t, int, std::string>, Slip> slips_;
};

}  // namespace

std::vector<std::uint32_t> rows_of(const Material& material, const Fix& fix) {
  const ReturnRow& with = material.row(fix.row);
  std::vector<std::uint32_t> rows = {fix.row};
  for (const std::uint32_t r : material.rows(material.visits[fix.visit])) {
    const ReturnRow& row = material.row(r);
    const bool same = row.lat == with.lat && row.lon == with.lon;
    const bool none = std::isnan(row.lat) && std::isnan(row.lon);
    if (r != fix.row && (same || (none && fix.first_of_visit))) rows.push_back(r);
  }
  return rows;
}

void check_positions(const Material& material, Findings& findings) { Positions(material, findings).look(); }

}  // namespace swardline::return_parts
