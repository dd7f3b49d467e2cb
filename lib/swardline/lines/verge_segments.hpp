// Linear sites: a line cut into segments of a fixed length, and the ground of each beside the line.
//
// The segment is the unit of the draw. Every piece of the verge belongs to one segment, so that the
// segments' areas add up to the verge's.
#pragma once

#include <string>
#include <vector>

#include "swardline/lines/verge_line.hpp"

namespace swardline {

struct VergeSegment {
  int number = 0;  ///< along the line, from 1; the two sides of a stretch share it
  VergeSide side = VergeSide::left;
  double from_m = 0, to_m = 0;  ///< along the line; over several lines the metres run on
  Point middle;                 ///< half way along and half way across the verge, in whole millimetres
  double grid_bearing_deg = 0;  ///< along the line, from the segment's start to its end
  Geometry ground;              ///< plan coordinates
  double whole_m2 = 0;          ///< of its ground before anything was cut out
  double inner_m = 0;           ///< from the line to the verge's inner edge, half way along
  double width_m = 0;           ///< of the verge, half way along
};

/// Where the metres of a line begin and end.
struct VergeLine {
  double from_m = 0, to_m = 0;
  Point begin, end;
};

/// The verges of one site.
struct Verge {
  double length_m = 0;                 ///< of the lines together
  double segment_m = 0;                ///< asked
  int stretches = 0;                   ///< lengths the lines were cut into
  int shorter = 0;                     ///< of them, end pieces shorter than asked
  std::size_t lines = 0;               ///< that do not touch one another
  std::size_t turned = 0;              ///< see JoinedLines
  std::vector<VergeLine> ends;         ///< of each line
  std::vector<VergeSegment> segments;  ///< along the line, left before right; none without ground
  [[nodiscard]] int count(VergeSide side) const;
};

struct VergeSides {
  bool left = true, right = true;
};

/// Cuts lines into segments and lays out the ground beside them. At the outside of a bend the verge is
/// rounded in steps of at most 6 degrees; at the inside, and wherever lines come near one another, ground
/// belongs to the earlier segment, and none lies between a line and its verge's inner edge.
[[nodiscard]] Verge make_verge(const std::vector<DrawnLine>& drawn, double segment_m, VergeSides sides);

/// Leaves every segment what `survey` has of it. Segments with less than 0.01 m² left are taken out.
void keep_ground(Verge& verge, const Geometry& survey);

/// The ground of all segments.
[[nodiscard]] Geometry ground_of(const Verge& verge);

/// A place on the segment's ground to send a team to: its middle, or where that was cut out, another.
[[nodiscard]] Point place_on(const VergeSegment& segment);

[[nodiscard]] const char* word(VergeSide side);  ///< "left", "right"

/// "segment 51 left, from 1,000 m to 1,020 m along the line"
[[nodiscard]] std::string in_words(const VergeSegment& segment);

/// "20 m segments along 3.4 km, both sides; 336 possible (168 left, 168 right), …"
[[nodiscard]] std::string in_words(const Verge& verge);

}  // namespace swardline
