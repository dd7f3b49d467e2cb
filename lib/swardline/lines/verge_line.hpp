// The line of a linear site: features joined end to end, metres counted along it.
#pragma once

#include <array>
#include <cstddef>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// As seen by somebody who walks the line the way it was drawn.
enum class VergeSide { left, right };

/// The strip of ground beside a line, by side (VergeSide as index), in metres.
struct VergeStrip {
  std::array<double, 2> offset_m = {0, 0};  ///< from the line to the verge's inner edge
  std::array<double, 2> width_m = {0, 0};   ///< of the verge; 0: no verge on that side
};

/// One line as drawn, in plan coordinates, and what lies beside it.
struct DrawnLine {
  std::vector<Point> points;
  VergeStrip strip;
};

/// A straight piece of a joined line.
struct LinePiece {
  Point from, to;
  Point along;         ///< unit vector
  double start_m = 0;  ///< metres along the joined line to `from`
  double length_m = 0;
  VergeStrip strip;
  [[nodiscard]] double end_m() const { return start_m + length_m; }
  /// The point `metres` along the joined line and `away` metres to one side, in whole millimetres.
  [[nodiscard]] Point beside(double metres, VergeSide side, double away) const;
};

/// Lines that touch, joined into one.
struct JoinedLine {
  std::vector<LinePiece> pieces;
  bool closed = false;  ///< a ring: its end is its start
  [[nodiscard]] double length_m() const { return pieces.empty() ? 0 : pieces.back().end_m(); }
  /// The piece that holds a place; the earlier one where two meet.
  [[nodiscard]] const LinePiece& piece_at(double metres) const;
};

struct JoinedLines {
  std::vector<JoinedLine> lines;  ///< in the order of their first drawn line
  std::size_t turned = 0;         ///< drawn against the line they continue: turned, and their sides with them
};

/// Joins lines whose ends lie within 0.1 m of one another. Each joined line has the direction of the first
/// drawn line in it. Points that repeat the one before are dropped; a line without length gives nothing.
[[nodiscard]] JoinedLines join_lines(const std::vector<DrawnLine>& drawn);

}  // namespace swardline
