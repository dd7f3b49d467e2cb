// Where a straight line runs inside an area.
#pragma once

#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// A stretch of a line, in metres from the line's origin along its direction. from <= to.
struct Stretch {
  double from = 0, to = 0;
  [[nodiscard]] double length() const { return to - from; }
  friend bool operator==(const Stretch&, const Stretch&) = default;
};

/// The edges of an area, kept for many questions about lines. Sums, products and quotients only, so every
/// machine gives the same answers. May be shared between threads.
class Chords {
 public:
  /// A valid polygon or multipolygon, holes included.
  explicit Chords(const Geometry& area);

  /// The stretches of the endless line through `origin` that lie inside, rising and apart. `along` is a unit
  /// vector.
  [[nodiscard]] std::vector<Stretch> inside(Point origin, Point along) const;
  /// The same, cut to [from, to].
  [[nodiscard]] std::vector<Stretch> inside(Point origin, Point along, Stretch within) const;

  /// How far the area reaches along a direction, as metres from `origin`.
  [[nodiscard]] Stretch reach(Point origin, Point along) const;
  /// Square metres of the area that lie less than `metres` from `origin` along a direction (Green's theorem:
  /// the integral of min(u, metres) dv round the area).
  [[nodiscard]] double area_before(Point origin, Point along, double metres) const;

 private:
  struct Edge {
    Point a, b;
  };
  std::vector<Edge> edges_;
};

}  // namespace swardline
