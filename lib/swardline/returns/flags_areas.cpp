// The area a count speaks of.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"

namespace swardline::return_parts {
namespace {

/// Forms print a decimal: areas are the same within 0.1 m2 or a hundredth.
bool larger(double a, double b) { return a > b + std::max(0.1, 0.01 * b); }
bool same(double a, double b) { return !larger(a, b) && !larger(b, a); }

std::string metres2(double area) {
  return std::abs(area - std::round(area)) < 0.05 ? fmt::format("{:.0f}", area) : fmt::format("{:.1f}", area);
}

class Areas {
 public:
  Areas(const Material& material, Findings& findings) : material_(material), findings_(findings) {
    if (const auto& frames = material.season.plan.transect.frames)
      frame_m2_ = frames->size_m[0] * frames->size_m[1];
  }

  void look_at(const Visit& visit) {
    problems_.clear();
    for (const std::uint32_t r : material_.rows(visit)) look_at(visit, r);
    for (auto& [key, problem] : problems_)
      findings_.add({std::get<0>(key), problem.rows, visit.plot, problem.column, std::move(problem.value),
                     std::move(problem.reason), std::move(problem.next_step)});
  }

 private:
  struct Problem {
    std::vector<std::uint32_t> rows;
    ReturnColumn column;
    std::string value, reason, next_step;
  };

  void look_at(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    if (findings_.open(r, 23) || !carries_counts(fate_at(row, visit))) return;
    if (unreadable(visit, r)) return;
    const bool frames = row.frames >= 0 && std::isfinite(row.frame_m2);
    const bool given = std::isfinite(row.area_searched_m2);
    const double by_frames = frames ? double(row.frames) * double(row.frame_m2) : 0;
    if (frames && given && !same(by_frames, row.area_searched_m2)) {
      add(13, r, ReturnColumn::area_searched_m2, metres2(row.area_searched_m2),
          fmt::format("{} x {} = {} but area says {}.", row.frames, shortest_of(row.frame_m2),
                      tenth(by_frames), shortest_of(row.area_searched_m2)),
          "Correct the area, or the frames.");
      return;
    }
    if (!given && !frames) {
      if (fate_at(row, visit) == Fate::part_counted && row.stems >= 0)
        add(11, r, ReturnColumn::area_searched_m2, "",
            fmt::format("{} is part counted, and no area is given.", name(visit)),
            "Write the area that was searched.");
      else
        zone(visit, r);
      return;
    }
    compare(visit, r, given ? double(row.area_searched_m2) : by_frames, frames);
  }

  bool unreadable(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    if (row.unread == 0) return false;
    for (const ReturnColumn column : {ReturnColumn::area_searched_m2, ReturnColumn::frames,
                                      ReturnColumn::frame_m2, ReturnColumn::station}) {
      if (!row.cannot_read(column)) continue;
      const std::string text = material_.text(r, column);
      const bool of_frames = column == ReturnColumn::frames || column == ReturnColumn::frame_m2;
      add(of_frames ? 13 : 11, r, column, text,
          fmt::format("{}: '{}' in {} is no {}.", name(visit), text, word(column),
                      column == ReturnColumn::area_searched_m2 || column == ReturnColumn::frame_m2
                          ? "area"
                          : "number"),
          column == ReturnColumn::station ? "Write the frame's number along the line."
                                          : "Write the number alone.");
      return true;
    }
    return false;
  }

  void compare(const Visit& visit, std::uint32_t r, double area, bool frames) {
    const ReturnRow& row = material_.row(r);
    const ExpectedPlot& plot = material_.plot(visit.plot);
    const double whole = row.station >= 0 ? frame_m2_ : plot.inside_m2;
    if (whole <= 0) return;  // not known
    if (larger(area, whole)) {
      add(12, r, ReturnColumn::area_searched_m2, metres2(area), too_large(plot, row, area, whole),
          "Correct the area, or count again within the site.");
      return;
    }
    // Frames say what was searched, a part counted is less by its own word.
    if (larger(whole, area) && (area <= 0 || (!frames && fate_at(row, visit) != Fate::part_counted))) {
      add(11, r, ReturnColumn::area_searched_m2, metres2(area),
          fmt::format(
              "{}: area {} m2, plot is {} m2. {}", plot.name, metres2(area), metres2(whole),
              area > 0 ? fmt::format("Whole plot, or {}?", as_frames(area)) : "How much was searched?"),
          "Correct the area; or give frames and frame_m2, or the status 'part counted'.");
      return;
    }
    zone(visit, r);
  }

  static std::string too_large(const ExpectedPlot& plot, const ReturnRow& row, double area, double whole) {
    if (row.station >= 0)
      return fmt::format("{}: {} m2 searched, a frame is {} m2.", plot.name, metres2(area), metres2(whole));
    if (plot.plot_m2 > 0 && same(plot.plot_m2, whole))
      return fmt::format("{}: {} m2 searched, the plot is only {} m2.", plot.name, metres2(area),
                         metres2(whole));
    return fmt::format("{}: {} m2 searched, only {} m2 lies inside the site.", plot.name, metres2(area),
                       metres2(whole));
  }

  /// "4 frames of 0.5 m2" where a common frame fits, else the part.
  static std::string as_frames(double area) {
    for (const double frame : {0.5, 0.25, 1.0}) {
      const double frames = area / frame;
      if (frames >= 2 && frames <= 12 && std::abs(frames - std::round(frames)) < 1e-6)
        return fmt::format("{:.0f} frames of {} m2", frames, frame);
    }
    return "a part";
  }

  /// Stems in a zone that the plot does not have.
  void zone(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    const ExpectedPlot& plot = material_.plot(visit.plot);
    if (row.twice_stems <= 0 || plot.twice_m2 > 0 || findings_.open(r, 10)) return;
    add(11, r, ReturnColumn::twice_stems, fmt::format("{}", row.twice_stems),
        fmt::format("{}: {} stems in a zone that counts twice, and the plot has none.", plot.name,
                    row.twice_stems),
        "Empty the second box, or correct the plot.");
  }

  [[nodiscard]] const std::string& name(const Visit& visit) const { return material_.plot(visit.plot).name; }
  static std::string shortest_of(float value) { return fmt::format("{}", value); }
  static std::string tenth(double value) {
    const double tenths = std::round(value * 100) / 100;
    return tenths * 10 == std::round(tenths * 10) ? fmt::format("{:.1f}", tenths) : fmt::format("{}", tenths);
  }

  /// The area is written beside every species of a plot: once said is enough.
  void add(int check, std::uint32_t r, ReturnColumn column, std::string value, std::string reason,
           std::string next_step) {
    Problem& problem = problems_[{check, reason}];
    if (problem.rows.empty())
      problem = {{}, column, std::move(value), std::move(reason), std::move(next_step)};
    problem.rows.push_back(r);
  }

  const Material& material_;
  Findings& findings_;
  double frame_m2_ = 0;
  std::map<std::tuple<int, std::string>, Problem> problems_;
};

}  // namespace

void check_areas(const Material& material, Findings& findings) {
  Areas areas(material, findings);
  for (const Visit& visit : material.visits) areas.look_at(visit);
}

}  // namespace swardline::return_parts
