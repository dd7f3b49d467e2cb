#include "swardline/lines/verge_segments.hpp"

#include <fmt/format.h>
#include <geos_c.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/lines/verge_ground.hpp"

namespace swardline {
namespace {

/// A remainder this short is the drawing's rounding, not a piece of verge.
constexpr double no_length_m = 0.01;
constexpr double no_ground_m2 = 0.01;

struct Length {
  double from_m = 0, to_m = 0;
};

std::vector<Length> cut(double length_m, double segment_m) {
  const auto count = std::max<long long>(1, std::llround(std::ceil((length_m - no_length_m) / segment_m)));
  std::vector<Length> stretches;
  for (long long k = 0; k < count; ++k) {
    stretches.push_back({double(k) * segment_m, k + 1 == count ? length_m : double(k + 1) * segment_m});
  }
  return stretches;
}

double bearing_between(Point from, Point to) {
  const double degrees = std::atan2(to.x - from.x, to.y - from.y) * 180 / std::numbers::pi;
  return degrees < 0 ? degrees + 360 : degrees;
}

VergeSegment segment_of(const JoinedLine& line, const Length& stretch, VergeSide side) {
  VergeSegment segment;
  segment.side = side;
  const double half_way = (stretch.from_m + stretch.to_m) / 2;
  const LinePiece& piece = line.piece_at(half_way);
  const auto s = std::size_t(side);
  segment.inner_m = piece.strip.offset_m[s];
  segment.width_m = piece.strip.width_m[s];
  segment.middle = piece.beside(half_way, side, piece.strip.offset_m[s] + piece.strip.width_m[s] / 2);
  segment.grid_bearing_deg = bearing_between(line.piece_at(stretch.from_m).beside(stretch.from_m, side, 0),
                                             line.piece_at(stretch.to_m).beside(stretch.to_m, side, 0));
  return segment;
}

/// Metres as a tape is read: whole where they are.
std::string tape(double metres) {
  const double tenths = std::round(metres * 10);
  const auto whole = static_cast<std::int64_t>(tenths / 10);
  const auto rest = static_cast<std::int64_t>(tenths) - 10 * whole;
  return rest == 0 ? grouped(whole) + " m" : fmt::format("{}.{} m", grouped(whole), rest);
}

std::string long_way(double metres) {
  return metres < 1000 ? tape(metres) : shortest(std::round(metres / 10) / 100) + " km";
}

}  // namespace

int Verge::count(VergeSide side) const {
  return int(std::count_if(segments.begin(), segments.end(),
                           [side](const VergeSegment& segment) { return segment.side == side; }));
}

Verge make_verge(const std::vector<DrawnLine>& drawn, double segment_m, VergeSides sides) {
  if (!(segment_m > 0)) throw Defect("segments without length were asked for");
  const JoinedLines joined = join_lines(drawn);
  Verge verge;
  verge.segment_m = segment_m;
  verge.lines = joined.lines.size();
  verge.turned = joined.turned;
  AreaIndex carriageway, given;
  for (const JoinedLine& line : joined.lines) {
    for (const Length& stretch : cut(line.length_m(), segment_m)) {
      for (const VergeSide side : {VergeSide::left, VergeSide::right}) {
        for (Geometry& area : ground_beside(line, stretch.from_m, stretch.to_m, side, Strip::carriageway))
          carriageway.add(std::move(area));
      }
    }
  }
  for (const JoinedLine& line : joined.lines) {
    for (const Length& stretch : cut(line.length_m(), segment_m)) {
      ++verge.stretches;
      if (stretch.to_m - stretch.from_m < segment_m - no_length_m) ++verge.shorter;
      for (const VergeSide side : {VergeSide::left, VergeSide::right}) {
        if (side == VergeSide::left ? !sides.left : !sides.right) continue;
        const std::vector<Geometry> areas =
            ground_beside(line, stretch.from_m, stretch.to_m, side, Strip::verge);
        if (areas.empty()) continue;
        VergeSegment segment = segment_of(line, stretch, side);
        segment.number = verge.stretches;
        segment.from_m = verge.length_m + stretch.from_m;
        segment.to_m = verge.length_m + stretch.to_m;
        const Geometry whole = areas.size() == 1 ? areas.front() : polygons_of(snapped_mm(united(areas)));
        segment.ground = given.without(carriageway.without(whole));
        segment.whole_m2 = segment.ground.area();
        if (segment.whole_m2 < no_ground_m2) continue;
        given.add(segment.ground);
        verge.segments.push_back(std::move(segment));
      }
    }
    if (!line.pieces.empty())
      verge.ends.push_back({verge.length_m, verge.length_m + line.length_m(), line.pieces.front().from,
                            line.pieces.back().to});
    verge.length_m += line.length_m();
  }
  return verge;
}

void keep_ground(Verge& verge, const Geometry& survey) {
  for (VergeSegment& segment : verge.segments) {
    const Geometry near = clipped(survey, segment.ground.box());
    segment.ground = polygons_of(intersection(segment.ground, near));
  }
  std::erase_if(verge.segments, [](const VergeSegment& s) { return s.ground.area() < no_ground_m2; });
}

Geometry ground_of(const Verge& verge) {
  std::vector<Geometry> parts;
  for (const VergeSegment& segment : verge.segments) parts.push_back(segment.ground);
  return parts.empty() ? Geometry() : polygons_of(snapped_mm(united(parts)));
}

Point place_on(const VergeSegment& segment) {
  if (segment.ground.contains(segment.middle)) return segment.middle;
  GEOSContextHandle_t const handle = geos();
  GEOSGeometry* found = GEOSPointOnSurface_r(handle, segment.ground.get());
  if (found == nullptr) throw Defect("a segment without ground was drawn");
  const std::vector<Point> points = points_of(Geometry(found));
  if (points.empty()) throw Defect("a segment without ground was drawn");
  const Point exact = points.front();
  const Point rounded{std::round(exact.x * 1000) / 1000, std::round(exact.y * 1000) / 1000};
  return segment.ground.contains(rounded) ? rounded : exact;
}

const char* word(VergeSide side) { return side == VergeSide::left ? "left" : "right"; }

std::string in_words(const VergeSegment& segment) {
  std::string text = fmt::format("segment {} {}, from {} to {} along the line", segment.number,
                                 word(segment.side), tape(segment.from_m), tape(segment.to_m));
  const double cut_m2 = segment.whole_m2 - segment.ground.area();
  if (cut_m2 >= 0.05) text += fmt::format("; {:.1f} of its {:.1f} m² cut out", cut_m2, segment.whole_m2);
  return text;
}

std::string in_words(const Verge& verge) {
  const int left = verge.count(VergeSide::left), right = verge.count(VergeSide::right);
  const bool both = left > 0 && right > 0;
  std::string text =
      fmt::format("{} segments along {}, {}; {} possible{}", tape(verge.segment_m), long_way(verge.length_m),
                  both       ? "both sides"
                  : left > 0 ? "left side"
                             : "right side",
                  grouped(left + right),
                  both ? fmt::format(" ({} left, {} right)", grouped(left), grouped(right)) : std::string());
  if (verge.shorter > 0) {
    text += verge.shorter == 1 ? ", the last of a line shorter"
                               : fmt::format(", the last of each of {} lines shorter", verge.shorter);
  }
  if (verge.lines > 1) text += fmt::format("; {} lines that do not touch, their metres run on", verge.lines);
  return text + ".";
}

}  // namespace swardline
