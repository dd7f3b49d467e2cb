// A transect on the ground: where it may start, where it runs, and what of it is counted.
//
// Two rules where a line leaves the survey area:
//   clip     what is inside is counted, what is outside is left out. Starts are drawn from the survey area
//            swept back by the whole transect, so that every square metre has the same chance, edges
//            included.
//   reflect  the line is folded back on itself at the boundary and what lies there is counted again (Gregoire
//            & Monkevich 1994, Environmental and Ecological Statistics 1:219-226; Affleck, Gregoire &
//            Valentine 2005, ibid. 12:139-154). Starts are drawn from the survey area; both senses of a
//            bearing must be equally likely. Then the expected length over any square metre of ground is the
//            same everywhere.
//
// Directions are unit vectors of the plan's plane; lengths are horizontal metres.
#pragma once

#include <optional>
#include <vector>

#include "swardline/geo/geometry.hpp"
#include "swardline/lines/chords.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// The ground that starts are drawn from. Reflect: the area itself.
[[nodiscard]] Geometry start_ground(const Geometry& area, Point along, const TransectSpec& spec);

/// How many frames a line holds whatever their random start, and how far that start may move (metres).
struct FrameRow {
  int frames = 0;
  double slack_m = 0;
};
[[nodiscard]] FrameRow frame_row(const TransectSpec& spec);

/// One frame on the ground.
struct Station {
  int number = 0;       ///< along the tape, from 1
  Stretch mark;         ///< metres along the line from the transect's start, near end first; on the way back
                        ///< too, so that it can be found
  bool folded = false;  ///< reached on the way back
  double inside_m2 = 0;
  double twice_m2 = 0;  ///< of a frame at the fold: what is counted a second time
};

/// A stretch that is counted so many times; more than once where a line is folded back.
struct Counted {
  Stretch mark;  ///< metres from the transect's start
  int times = 1;
};

struct LaidTransect {
  Point start;                   ///< where the tape begins: on or inside the boundary
  Point end;                     ///< the far end of what is counted
  Point along;                   ///< unit vector
  std::vector<Stretch> parts;    ///< inside, metres from the start, rising
  std::vector<Counted> counted;  ///< the parts, cut where the number of times changes
  double length_m = 0;           ///< counted: the parts' sum, or of folded lines the whole length
  double inside_m2 = 0;          ///< ground counted at least once
  double twice_m2 = 0;           ///< ground counted again, as often as it is
  bool edge_only = false;        ///< the line itself stays outside; only an edge of the belt is inside
  std::vector<Station> stations;
  [[nodiscard]] bool folded() const;
  [[nodiscard]] Point at(double metres) const {
    return {start.x + metres * along.x, start.y + metres * along.y};
  }
};

/// Lays one transect. `frame_start_m` (0 to frame_row's slack) is where the first frame begins. For reflect
/// the start must lie in the area (to a millimetre).
[[nodiscard]] LaidTransect lay_transect(const Geometry& area, const Chords& chords, Point start, Point along,
                                        const TransectSpec& spec, double frame_start_m = 0);

/// A point uniform in area when both shares are uniform in [0, 1): `share` of the area lies before it along
/// `axis`, and `across` of the chord through it to its right.
[[nodiscard]] Point point_at(const Chords& chords, Point origin, Point axis, double share, double across);

/// Starts spread along a baseline: the area is cut across `axis` into `count` strips of one area, and at the
/// same random place of each (`share`, in [0, 1)) a start lies anywhere along the line across. Each start is
/// uniform in area.
[[nodiscard]] std::vector<Point> spread_starts(const Chords& chords, Point origin, Point axis, double share,
                                               const std::vector<double>& across);

/// The axis along which an area spreads most (second moments of area), as a unit vector with y >= 0; nothing
/// where it spreads alike in all directions.
[[nodiscard]] std::optional<Point> longest_axis(const Geometry& area);

}  // namespace swardline
