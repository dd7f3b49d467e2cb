#include "swardline/lines/verge_ground.hpp"

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "swardline/geo/plane_vectors.hpp"

namespace swardline {
namespace {

constexpr double square_m = 100;       // of the index
constexpr double rounding_m2 = 1e-5;   // shared by neighbours through coordinates in whole millimetres
constexpr double small_turn = 0.9945;  // cosine of 6 degrees

struct Range {
  double near_m = 0, far_m = 0;
};

Range range_of(const LinePiece& piece, VergeSide side, Strip strip) {
  const auto s = std::size_t(side);
  const double offset = piece.strip.offset_m[s];
  return strip == Strip::verge ? Range{offset, offset + piece.strip.width_m[s]} : Range{0, offset};
}

/// Unit vectors from `a` to `b`, both among them, no two neighbours more than a small turn apart. Halving
/// needs no sine.
std::vector<Point> turn(Point a, Point b) {
  if (dot(a, b) >= small_turn) return {a, b};
  Point middle{a.x + b.x, a.y + b.y};
  const double length = std::sqrt(dot(middle, middle));
  // A line that turns straight back: half way round is at a right angle to both.
  middle = length > 1e-6 ? Point{middle.x / length, middle.y / length} : Point{-a.y, a.x};
  std::vector<Point> first = turn(a, middle);
  const std::vector<Point> second = turn(middle, b);
  first.insert(first.end(), second.begin() + 1, second.end());
  return first;
}

/// The ground between two pieces at the outside of their bend; empty at the inside.
std::vector<Point> round_bend(const LinePiece& before, const LinePiece& after, VergeSide side, Range range) {
  const double bend = cross(before.along, after.along);
  const bool outside = side == VergeSide::left ? bend < 0 : bend > 0;
  const bool straight_back = bend == 0 && dot(before.along, after.along) < 0;
  if (!outside && !straight_back) return {};
  LinePiece at = before;
  at.from = before.to;
  at.start_m = before.end_m();
  std::vector<Point> inner, outer;
  std::vector<Point> ways = turn(before.along, after.along);
  for (const Point& way : ways) {
    at.along = way;
    inner.push_back(at.beside(at.start_m, side, range.near_m));
    outer.push_back(at.beside(at.start_m, side, range.far_m));
  }
  // The ends are those of the strips beside the two pieces, so that nothing is left between.
  inner.front() = before.beside(before.end_m(), side, range.near_m);
  outer.front() = before.beside(before.end_m(), side, range.far_m);
  inner.insert(inner.end(), outer.rbegin(), outer.rend());
  inner.erase(std::unique(inner.begin(), inner.end()), inner.end());
  return inner;
}

void add_area(const std::vector<Point>& ring, std::vector<Geometry>& areas) {
  if (ring.size() < 3) return;
  Geometry area = polygons_of(made_valid(polygon(ring)).geometry);
  if (!area.empty() && area.area() > 0) areas.push_back(std::move(area));
}

std::uint64_t square(std::int64_t col, std::int64_t row) {
  return std::uint64_t(col) * 0x9E3779B97F4A7C15ULL + std::uint64_t(row);
}

template <typename Visit>
void each_square(const Box& box, Visit&& visit) {
  const auto number = [](double metres) { return std::int64_t(std::floor(metres / square_m)); };
  for (std::int64_t col = number(box.x0); col <= number(box.x1); ++col) {
    for (std::int64_t row = number(box.y0); row <= number(box.y1); ++row) visit(square(col, row));
  }
}

}  // namespace

std::vector<Geometry> ground_beside(const JoinedLine& line, double from_m, double to_m, VergeSide side,
                                    Strip strip) {
  std::vector<Geometry> areas;
  for (std::size_t i = 0; i < line.pieces.size(); ++i) {
    const LinePiece& piece = line.pieces[i];
    const Range range = range_of(piece, side, strip);
    if (range.far_m <= range.near_m) continue;
    const double a = std::max(from_m, piece.start_m), b = std::min(to_m, piece.end_m());
    if (b > a) {
      add_area({piece.beside(a, side, range.near_m), piece.beside(b, side, range.near_m),
                piece.beside(b, side, range.far_m), piece.beside(a, side, range.far_m)},
               areas);
    }
    const bool last = i + 1 == line.pieces.size();
    if ((last && !line.closed) || piece.end_m() <= from_m || piece.end_m() > to_m) continue;
    add_area(round_bend(piece, line.pieces[last ? 0 : i + 1], side, range), areas);
  }
  return areas;
}

void AreaIndex::add(Geometry area) {
  if (area.empty()) return;
  const std::size_t index = entries_.size();
  const Box box = area.box();
  each_square(box, [&](std::uint64_t at) { squares_[at].push_back(index); });
  entries_.push_back({std::move(area), box});
}

std::vector<std::size_t> AreaIndex::near(const Box& box) const {
  std::vector<std::size_t> found;
  each_square(box, [&](std::uint64_t at) {
    const auto here = squares_.find(at);
    if (here == squares_.end()) return;
    for (const std::size_t index : here->second) {
      if (entries_[index].box.meets(box)) found.push_back(index);
    }
  });
  std::sort(found.begin(), found.end());
  found.erase(std::unique(found.begin(), found.end()), found.end());
  return found;
}

Geometry AreaIndex::without(const Geometry& area) const {
  if (area.empty()) return area;
  std::vector<Geometry> taken;
  for (const std::size_t index : near(area.box())) {
    Geometry both = polygons_of(intersection(area, entries_[index].area));
    if (both.area() > rounding_m2) taken.push_back(std::move(both));
  }
  return taken.empty() ? area : polygons_of(snapped_mm(polygons_of(difference(area, united(taken)))));
}

}  // namespace swardline
