// Fixes that are all displaced alike: a unit set to another datum.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <tuple>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/crs.hpp"
#include "swardline/geo/grid_reference.hpp"
#include "swardline/returns/fixes.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

constexpr std::size_t least = 3;     // plots displaced alike
constexpr double alike_share = 0.8;  // of a group's doubtful fixes
constexpr double by_another = 0.5;   // of them at other plots: names mixed up, no datum

Offset middle_of(const std::vector<const Fix*>& fixes) {
  std::vector<double> east, north;
  for (const Fix* fix : fixes) {
    east.push_back(fix->offset.east);
    north.push_back(fix->offset.north);
  }
  return {median(east), median(north)};
}

double apart(const Offset& a, const Offset& b) { return Offset{a.east - b.east, a.north - b.north}.metres(); }

/// What a unit set to NAD27 does at a place: first to degrees read as WGS84, then to metres of UTM read as
/// NAD83.
std::vector<Offset> nad27_offsets(double lat, double lon) {
  // Where NAD27 was used at all.
  if (lat < 15 || lat > 75 || lon < -170 || lon > -50) return {};
  try {
    const int zone = utm(lat, lon).zone;
    std::vector<Offset> offsets;
    const Point shown = Route(Crs::wgs84(), Crs::from_text("EPSG:4267")).forward({lon, lat});
    offsets.push_back(offset_between(lat, lon, shown.y, shown.x));
    const Crs older = Crs::from_text(fmt::format("EPSG:{}", 26700 + zone));
    const Crs newer = Crs::from_text(fmt::format("EPSG:{}", 26900 + zone));
    const Point there = Route(Crs::wgs84(), newer).forward({lon, lat});
    const Point numbers = Route(newer, older).forward(there);
    offsets.push_back({numbers.x - there.x, numbers.y - there.y});
    return offsets;
  } catch (const InputError&) {
    return {};  // no way between the systems on this machine: the shift is said without its cause
  }
}

class Shifts {
 public:
  Shifts(const Material& material, std::vector<Fix>& far, Findings& findings)
      : material_(material), far_(far), taken_(far.size(), false), findings_(findings) {}

  void look() {
    // A unit on one day, a unit, a file.
    using Key = std::tuple<std::int64_t, std::int64_t>;
    by([&](const Fix& fix) { return Key{observer_or_file(fix), material_.row(fix.row).date}; });
    by([&](const Fix& fix) { return Key{observer_or_file(fix), 0}; });
    by([&](const Fix& fix) { return Key{material_.row(fix.row).at.file, 0}; });
    say();
    std::vector<Fix> left;
    for (std::size_t i = 0; i < far_.size(); ++i)
      if (!taken_[i]) left.push_back(far_[i]);
    far_ = std::move(left);
  }

 private:
  [[nodiscard]] std::int64_t observer_or_file(const Fix& fix) const {
    const ReturnRow& row = material_.row(fix.row);
    return row.observer >= 0 ? row.observer : -1 - std::int64_t(row.at.file);
  }

  template <typename KeyOf>
  void by(const KeyOf& key_of) {
    std::map<decltype(key_of(far_.front())), std::vector<std::size_t>> groups;
    for (std::size_t i = 0; i < far_.size(); ++i)
      if (!taken_[i]) groups[key_of(far_[i])].push_back(i);
    for (const auto& [key, group] : groups) look_at(group);
  }

  /// Fixes of a group that lie round its median; the median stays where it is with a few wild ones among
  /// them.
  void look_at(const std::vector<std::size_t>& group) {
    if (group.size() < least) return;
    std::vector<const Fix*> fixes;
    for (const std::size_t i : group) fixes.push_back(&far_[i]);
    const Offset middle = middle_of(fixes);
    std::vector<std::size_t> alike;
    std::set<std::int32_t> plots;
    std::size_t others = 0;
    for (const std::size_t i : group) {
      const Fix& fix = far_[i];
      // A fix wanders by its accuracy, and the shift itself differs little over a survey.
      const double wander =
          std::max(10.0, fix.allowed - material_.season.plan.returns.far_m) + 0.02 * middle.metres();
      if (apart(fix.offset, middle) > wander) continue;
      alike.push_back(i);
      plots.insert(material_.visits[fix.visit].plot);
      others += at_another_plot(fix) ? 1 : 0;
    }
    const bool enough = plots.size() >= least && double(alike.size()) >= alike_share * double(group.size());
    if (!enough || double(others) >= by_another * double(alike.size())) return;
    for (const std::size_t i : alike) taken_[i] = true;
    join(alike, middle);
  }

  [[nodiscard]] bool at_another_plot(const Fix& fix) const {
    const ReturnRow& row = material_.row(fix.row);
    const NearPlot near = material_.places.nearest(row.lat, row.lon);
    return near.plot != material_.visits[fix.visit].plot && near.metres <= fix.allowed;
  }

  /// Groups of one observer that are displaced alike on several days are one unit's doing.
  void join(const std::vector<std::size_t>& alike, const Offset& middle) {
    const std::int64_t whose = observer_or_file(far_[alike.front()]);
    for (Group& group : groups_)
      if (group.whose == whose && apart(group.middle, middle) < 10 + 0.02 * middle.metres()) {
        group.fixes.insert(group.fixes.end(), alike.begin(), alike.end());
        return;
      }
    groups_.push_back({whose, middle, alike});
  }

  struct Group {
    std::int64_t whose;
    Offset middle;
    std::vector<std::size_t> fixes;
  };

  void say() {
    for (const Group& group : groups_) {
      std::vector<std::uint32_t> rows;
      double nearest = far_[group.fixes.front()].metres, farthest = nearest;
      for (const std::size_t i : group.fixes) {
        const std::vector<std::uint32_t> of_fix = rows_of(material_, far_[i]);
        rows.insert(rows.end(), of_fix.begin(), of_fix.end());
        nearest = std::min(nearest, far_[i].metres);
        farthest = std::max(farthest, far_[i].metres);
      }
      std::sort(rows.begin(), rows.end());
      const std::string how_far = fmt::format("{:.0f}-{:.0f} m {}", nearest, farthest, towards(group.middle));
      findings_.add({5, rows, -1, ReturnColumn::lat, how_far,
                     fmt::format("{} all lie {} of their plots: unit set to {}?{}",
                                 counted_words(group.fixes.size(), "fix", "fixes"), how_far, datum(group),
                                 declared(rows)),
                     "Not moved. Check the unit."});
    }
  }

  [[nodiscard]] std::string datum(const Group& group) const {
    const ExpectedPlot& plot = material_.plot(material_.visits[far_[group.fixes.front()].visit].plot);
    for (const Offset& offset : nad27_offsets(plot.lat, plot.lon))
      if (apart(offset, group.middle) < 10 + 0.1 * offset.metres()) return "NAD27";
    return "another datum or grid";
  }

  [[nodiscard]] std::string declared(const std::vector<std::uint32_t>& rows) const {
    const std::string datum = material_.text(rows.front(), ReturnColumn::fix_datum);
    return datum.empty() ? "" : fmt::format(" (fix_datum says {}.)", datum);
  }

  const Material& material_;
  std::vector<Fix>& far_;
  std::vector<bool> taken_;
  std::vector<Group> groups_;
  Findings& findings_;
};

constexpr std::size_t least_near =
    8;  // plots; each within `near_m` of their median, which is `shift_m` or more
constexpr double near_m = 5, shift_m = 6;

void small_shift(const Material& material, const std::vector<const Fix*>& fixes, Findings& findings) {
  if (fixes.size() < least_near) return;
  const Offset middle = middle_of(fixes);
  if (middle.metres() < shift_m) return;
  std::vector<std::uint32_t> rows;
  std::set<std::int32_t> plots;
  std::size_t alike = 0;
  double nearest = fixes.front()->metres, farthest = nearest;
  for (const Fix* fix : fixes) {
    if (apart(fix->offset, middle) > near_m) continue;
    ++alike;
    plots.insert(material.visits[fix->visit].plot);
    const std::vector<std::uint32_t> of_fix = rows_of(material, *fix);
    rows.insert(rows.end(), of_fix.begin(), of_fix.end());
    nearest = std::min(nearest, fix->metres);
    farthest = std::max(farthest, fix->metres);
  }
  if (plots.size() < least_near || double(alike) < alike_share * double(fixes.size())) return;
  const ExpectedPlot& plot = material.plot(material.visits[fixes.front()->visit].plot);
  const std::vector<Offset> offsets = nad27_offsets(plot.lat, plot.lon);
  if (offsets.empty() || apart(offsets.front(), middle) > near_m) return;
  std::sort(rows.begin(), rows.end());
  const std::string how_far = fmt::format("{:.0f}-{:.0f} m {}", nearest, farthest, towards(middle));
  findings.add({5, rows, -1, ReturnColumn::lat, how_far,
                fmt::format("{} all lie {} of their plots, as degrees of a unit set to NAD27 do.",
                            counted_words(alike, "fix", "fixes"), how_far),
                "Not moved. Check the unit."});
}

}  // namespace

void check_small_shifts(const Material& material, const std::vector<Fix>& near, Findings& findings) {
  std::map<std::int32_t, std::vector<const Fix*>> by_observer;
  for (const Fix& fix : near)
    if (const std::int32_t who = material.row(fix.row).observer; who >= 0) by_observer[who].push_back(&fix);
  for (const auto& [who, fixes] : by_observer) small_shift(material, fixes, findings);
}

void check_shifts(const Material& material, std::vector<Fix>& far, Findings& findings) {
  if (far.size() >= least) Shifts(material, far, findings).look();
}

}  // namespace swardline::return_parts
