#include "swardline/lines/transect.hpp"

#include <algorithm>
#include <cmath>

#include "swardline/geo/plane_vectors.hpp"

namespace swardline {
namespace {

Point moved(Point p, Point along, double ahead, double to_left) {
  return {p.x + ahead * along.x - to_left * along.y, p.y + ahead * along.y + to_left * along.x};
}
double whole_mm(double metres) { return std::round(metres * 1000) / 1000; }

/// Convex hull, counter-clockwise (Andrew's monotone chain).
std::vector<Point> hull(std::vector<Point> points) {
  std::sort(points.begin(), points.end(),
            [](Point a, Point b) { return a.x != b.x ? a.x < b.x : a.y < b.y; });
  std::vector<Point> ring;
  for (int side = 0; side < 2; ++side) {
    const std::size_t first = ring.size();
    for (const Point p : points) {
      while (ring.size() >= first + 2 &&
             cross(minus(ring.back(), ring[ring.size() - 2]), minus(p, ring.back())) <= 0)
        ring.pop_back();
      ring.push_back(p);
    }
    ring.pop_back();
    std::reverse(points.begin(), points.end());
  }
  return ring;
}

Geometry belt(Point start, Point along, Stretch of, double width) {
  const double half = width / 2;
  return polygon({moved(start, along, of.from, half), moved(start, along, of.from, -half),
                  moved(start, along, of.to, -half), moved(start, along, of.to, half)});
}

/// The ground of the belt about a stretch, with how much of it lies between two marks.
class BeltGround {
 public:
  BeltGround(const Geometry& area, Point start, Point along, Stretch of, double width)
      : start_(start),
        along_(along),
        ground_(ground(area, belt(start, along, of, width))),
        chords_(ground_) {}
  [[nodiscard]] double between(double from, double to) const {
    return std::max(0.0, chords_.area_before(start_, along_, to) - chords_.area_before(start_, along_, from));
  }
  [[nodiscard]] bool empty() const { return ground_.empty(); }
  [[nodiscard]] Stretch reach() const { return chords_.reach(start_, along_); }

 private:
  static Geometry ground(const Geometry& area, const Geometry& whole) {
    return polygons_of(intersection(clipped(area, whole.box()), whole));
  }
  Point start_, along_;
  Geometry ground_;
  Chords chords_;
};

/// The chord a folded line stays on: the one that holds its start.
Stretch chord_of(const Chords& chords, Point start, Point along) {
  Stretch best;
  double nearest = -1;
  for (const Stretch& s : chords.inside(start, along)) {
    const double off = std::max({0.0, s.from, -s.to});
    if (nearest >= 0 && off >= nearest) continue;
    nearest = off;
    best = s;
  }
  return best;
}

/// Back and forth on the chord until the length is used up. A chord shorter than a tape can show takes no
/// more than `most` legs.
std::vector<Stretch> folded_legs(const Stretch& chord, double length) {
  constexpr std::size_t most = 10000;
  std::vector<Stretch> legs;
  double at = std::clamp(0.0, chord.from, chord.to), left = length;
  for (bool ahead = true; left > 0 && legs.size() < most; ahead = !ahead) {
    const double run = std::min(left, ahead ? chord.to - at : at - chord.from);
    const double to = ahead ? at + run : at - run;
    if (run > 0) legs.push_back({at, to});
    if (run <= 0 && chord.length() <= 0) break;
    at = to;
    left -= run;
  }
  return legs;
}

/// The ground marks of a stretch of tape, leg by leg.
std::vector<Stretch> on_ground(const std::vector<Stretch>& legs, double from, double to) {
  std::vector<Stretch> pieces;
  double before = 0;
  for (const Stretch& leg : legs) {
    const double run = std::abs(leg.length()), way = leg.length() < 0 ? -1 : 1;
    const double a = std::max(from, before), b = std::min(to, before + run);
    if (a < b) {
      const double at = leg.from + way * (a - before), end = leg.from + way * (b - before);
      pieces.push_back({std::min(at, end), std::max(at, end)});
    }
    before += run;
  }
  return pieces;
}

/// One frame on [from, to] of the tape; legs empty for a line that runs straight on.
Station frame_at(const BeltGround& ground, const std::vector<Stretch>& legs, double from, double to) {
  Station station;
  if (legs.empty()) {
    station.mark = {from, to};
    station.inside_m2 = ground.between(from, to);
    return station;
  }
  const std::vector<Stretch> pieces = on_ground(legs, from, to);
  double all = 0;
  for (const Stretch& piece : pieces) {
    if (&piece == &pieces.front()) station.mark = piece;
    station.mark = {std::min(station.mark.from, piece.from), std::max(station.mark.to, piece.to)};
    all += ground.between(piece.from, piece.to);
  }
  station.inside_m2 = ground.between(station.mark.from, station.mark.to);
  station.twice_m2 = std::max(0.0, all - station.inside_m2);
  station.folded = !legs.empty() && from >= std::abs(legs.front().length());
  return station;
}

void lay_frames(LaidTransect& laid, const BeltGround& ground, const std::vector<Stretch>& legs,
                const TransectSpec& spec, double first) {
  const FrameRow row = frame_row(spec);
  for (int i = 0; i < row.frames; ++i) {
    const double from = first + i * spec.frames->step_m;
    Station station = frame_at(ground, legs, from, from + spec.frames->size_m[1]);
    if (station.inside_m2 <= 0) continue;
    station.number = int(laid.stations.size()) + 1;
    laid.inside_m2 += station.inside_m2;
    laid.twice_m2 += station.twice_m2;
    laid.stations.push_back(station);
  }
}

/// The tape begins where the first part does.
void begin_at_first_part(LaidTransect& laid) {
  if (laid.parts.empty()) return;
  const double shift = laid.parts.front().from;
  laid.start = laid.at(shift);
  const auto shifted = [shift](const Stretch& s) { return Stretch{s.from - shift, s.to - shift}; };
  for (Stretch& part : laid.parts) part = shifted(part);
  for (Counted& counted : laid.counted) counted.mark = shifted(counted.mark);
  for (Station& station : laid.stations) station.mark = shifted(station.mark);
}

void lay_clipped(LaidTransect& laid, const Geometry& area, const Chords& chords, const TransectSpec& spec,
                 double frame_start) {
  const Stretch whole{0, spec.length_m};
  laid.parts = chords.inside(laid.start, laid.along, whole);
  const BeltGround ground(area, laid.start, laid.along, whole, spec.width_m);
  laid.edge_only = laid.parts.empty() && !ground.empty();
  if (laid.edge_only) laid.parts = {ground.reach()};
  for (const Stretch& part : laid.parts) laid.length_m += part.length();
  for (const Stretch& part : laid.parts) laid.counted.push_back({part, 1});
  if (spec.frames)
    lay_frames(laid, ground, {}, spec, frame_start);
  else
    laid.inside_m2 = ground.between(whole.from, whole.to);
}

/// How often each stretch between the legs' ends is walked.
std::vector<Counted> times_walked(const std::vector<Stretch>& legs) {
  std::vector<double> marks;
  for (const Stretch& leg : legs) marks.insert(marks.end(), {leg.from, leg.to});
  std::sort(marks.begin(), marks.end());
  marks.erase(std::unique(marks.begin(), marks.end()), marks.end());
  std::vector<Counted> counted;
  for (std::size_t i = 0; i + 1 < marks.size(); ++i) {
    const double middle = (marks[i] + marks[i + 1]) / 2;
    const auto times = std::count_if(legs.begin(), legs.end(), [middle](const Stretch& leg) {
      return (leg.from < middle) != (leg.to < middle);
    });
    if (!counted.empty() && counted.back().times == times)
      counted.back().mark.to = marks[i + 1];
    else
      counted.push_back({{marks[i], marks[i + 1]}, int(times)});
  }
  return counted;
}

void lay_folded(LaidTransect& laid, const Geometry& area, const Chords& chords, const TransectSpec& spec,
                double frame_start) {
  const std::vector<Stretch> legs = folded_legs(chord_of(chords, laid.start, laid.along), spec.length_m);
  if (legs.empty()) return;
  for (const Stretch& leg : legs) laid.length_m += std::abs(leg.length());
  laid.counted = times_walked(legs);
  const Stretch seen{laid.counted.front().mark.from, laid.counted.back().mark.to};
  laid.parts = {seen};
  if (spec.width_m <= 0) return;  // a bare line
  const BeltGround ground(area, laid.start, laid.along, seen, spec.width_m);
  if (spec.frames) return lay_frames(laid, ground, legs, spec, frame_start);
  laid.inside_m2 = ground.between(seen.from, seen.to);
  for (const Counted& counted : laid.counted)
    laid.twice_m2 += (counted.times - 1) * ground.between(counted.mark.from, counted.mark.to);
}

}  // namespace

bool LaidTransect::folded() const {
  return std::any_of(counted.begin(), counted.end(), [](const Counted& c) { return c.times > 1; });
}

Geometry start_ground(const Geometry& area, Point along, const TransectSpec& spec) {
  if (spec.boundary == TransectSpec::Boundary::reflect) return area;
  // Outside the area, a start reaches in over an edge: the edges swept back by the whole transect hold them
  // all.
  const double half = spec.width_m / 2;
  std::vector<Geometry> parts{area};
  for (const std::vector<Point>& ring : rings_of(area).rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
      std::vector<Point> corners;
      for (const Point end : {ring[i], ring[i + 1]})
        for (const double back : {0.0, -spec.length_m})
          for (const double aside : {half, -half}) corners.push_back(moved(end, along, back, aside));
      const std::vector<Point> swept = hull(std::move(corners));
      if (swept.size() >= 3) parts.push_back(polygon(swept));
    }
  }
  return snapped_mm(polygons_of(united(parts)));
}

FrameRow frame_row(const TransectSpec& spec) {
  if (!spec.frames) return {};
  const double along = spec.frames->size_m[1], room = spec.length_m - along;
  // A hair above: 0.3 / 0.1 is a hair under 3.
  const int further = room < 0 ? -1 : int(std::floor(room / spec.frames->step_m + 1e-9));
  return {further + 1, std::max(0.0, room - further * spec.frames->step_m)};
}

LaidTransect lay_transect(const Geometry& area, const Chords& chords, Point start, Point along,
                          const TransectSpec& spec, double frame_start_m) {
  LaidTransect laid;
  laid.start = start;
  laid.along = along;
  if (spec.boundary == TransectSpec::Boundary::clip)
    lay_clipped(laid, area, chords, spec, frame_start_m);
  else
    lay_folded(laid, area, chords, spec, frame_start_m);
  begin_at_first_part(laid);
  laid.end = laid.parts.empty() ? laid.start : laid.at(laid.parts.back().to);
  return laid;
}

Point point_at(const Chords& chords, Point origin, Point axis, double share, double across) {
  const Stretch reach = chords.reach(origin, axis);
  const double before = share * chords.area_before(origin, axis, reach.to);
  double low = reach.from, high = reach.to, at_low = 0, at_high = chords.area_before(origin, axis, reach.to);
  // Down to a fraction of a millimetre, where the chord hardly changes; then in proportion.
  for (int halving = 0; halving < 100 && high - low > 0.0005; ++halving) {
    const double middle = (low + high) / 2, area = chords.area_before(origin, axis, middle);
    (area <= before ? low : high) = middle;
    (area <= before ? at_low : at_high) = area;
  }
  if (at_high > at_low) low += (high - low) * std::clamp((before - at_low) / (at_high - at_low), 0.0, 1.0);
  const Point left{-axis.y, axis.x};
  const Point foot = moved(origin, axis, low, 0);
  const std::vector<Stretch> stretches = chords.inside(foot, left);
  double rest = 0;
  for (const Stretch& s : stretches) rest += s.length();
  rest *= across;
  double at = 0;
  for (const Stretch& s : stretches) {
    at = s.from + std::min(rest, s.length());
    if (rest < s.length()) break;
    rest -= s.length();
  }
  const Point p = moved(foot, axis, 0, at);
  return {whole_mm(p.x), whole_mm(p.y)};
}

std::vector<Point> spread_starts(const Chords& chords, Point origin, Point axis, double share,
                                 const std::vector<double>& across) {
  std::vector<Point> starts;
  const auto count = double(across.size());
  for (std::size_t i = 0; i < across.size(); ++i)
    starts.push_back(point_at(chords, origin, axis, (double(i) + share) / count, across[i]));
  return starts;
}

std::optional<Point> longest_axis(const Geometry& area) {
  // Second moments about the centroid, from the edges (Green's theorem).
  const std::vector<std::vector<Point>> rings = rings_of(area).rings;
  if (rings.empty()) return {};
  const Box box = area.box();
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
  double m = 0, mx = 0, my = 0, mxx = 0, mxy = 0, myy = 0;
  for (const std::vector<Point>& ring : rings) {
    for (std::size_t i = 0; i + 1 < ring.size(); ++i) {
      const Point a = minus(ring[i], middle), b = minus(ring[i + 1], middle);
      const double c = cross(a, b);
      m += c / 2;
      mx += c * (a.x + b.x) / 6;
      my += c * (a.y + b.y) / 6;
      mxx += c * (a.x * a.x + a.x * b.x + b.x * b.x) / 12;
      myy += c * (a.y * a.y + a.y * b.y + b.y * b.y) / 12;
      mxy += c * (2 * a.x * a.y + a.x * b.y + b.x * a.y + 2 * b.x * b.y) / 24;
    }
  }
  const double xx = mxx / m - mx / m * (mx / m), yy = myy / m - my / m * (my / m);
  const double xy = mxy / m - mx / m * (my / m);
  const double half = (xx - yy) / 2, root = std::sqrt(half * half + xy * xy);
  if (root <= 1e-9 * (xx + yy)) return {};
  // The eigenvector of the larger moment, from whichever row of the matrix is the longer one.
  Point axis = half >= 0 ? Point{half + root, xy} : Point{xy, root - half};
  const double length = std::sqrt(axis.x * axis.x + axis.y * axis.y);
  const double sign = axis.y < 0 || (axis.y == 0 && axis.x < 0) ? -1 : 1;
  return Point{sign * axis.x / length, sign * axis.y / length};
}

}  // namespace swardline
