// Sums and products of vectors in the plane. Private to the library.
#pragma once

#include "swardline/geo/geometry.hpp"

namespace swardline {

inline double cross(Point a, Point b) { return a.x * b.y - a.y * b.x; }
inline double dot(Point a, Point b) { return a.x * b.x + a.y * b.y; }
inline Point minus(Point a, Point b) { return {a.x - b.x, a.y - b.y}; }
/// Of the distance between two points.
inline double squared(Point a, Point b) { return dot(minus(a, b), minus(a, b)); }

}  // namespace swardline
