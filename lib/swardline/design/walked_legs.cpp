#include "swardline/design/walked_legs.hpp"

#include <geos_c.h>

#include <algorithm>
#include <limits>
#include <set>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/design/walking_graph.hpp"

namespace swardline {
namespace {

/// The graph of one site's places, asked for legs.
class LegFinder {
 public:
  LegFinder(const InTheWay& between, const std::vector<Point>& places)
      : between_(between),
        places_(places),
        window_(window_of(between, places)),
        edges_(edges_in(between, window_, places.front(), pieces_)) {}

  [[nodiscard]] std::vector<WalkedLeg> from(std::size_t source, const std::vector<std::size_t>& to) {
    std::vector<WalkedLeg> legs;
    std::optional<WaysFrom> ways;
    for (const std::size_t place : to) {
      if (!edges_.stop(places_[source], places_[place])) {
        legs.push_back({{places_[source], places_[place]}, {false, false}});
        continue;
      }
      if (!graph_) graph_.emplace(between_, window_, edges_, pieces_, places_);
      if (!ways) ways = graph_->from(source);
      legs.push_back(round(*ways, source, place));
    }
    return legs;
  }

 private:
  WalkedLeg round(const WaysFrom& ways, std::size_t source, std::size_t place) const {
    WalkedLeg leg;
    leg.past = between_.whats(edges_.barriers_between(places_[source], places_[place]));
    leg.open = ways.reach(place);
    if (!leg.open) {
      leg.points = {places_[source], places_[place]};
      leg.crossing = {false, false};
      leg.beyond = between_.whats(fewest_between(*graph_, ways, edges_, places_[place], false));
      return leg;
    }
    leg.outside = ways.leaves[place] > 0;
    if (leg.outside) leg.past = between_.whats(fewest_between(*graph_, ways, edges_, places_[place], true));
    for (const std::size_t node : ways.way_to(place)) {
      leg.points.push_back(graph_->nodes()[node].at);
      leg.crossing.push_back(graph_->nodes()[node].crossing);
    }
    return leg;
  }

  InTheWay between_;
  const std::vector<Point>& places_;
  Box window_;
  std::vector<Geometry> pieces_;
  WayEdges edges_;
  std::optional<WayGraph> graph_;
};

double middle_m(const VergeSegment& segment) { return (segment.from_m + segment.to_m) / 2; }

/// From one place beside the line to another: over the middles of the segments between them, on the second's
/// side where it has one.
WalkedLeg leg_along(const Verge& verge, Point from, double from_m, const VergePlace& to) {
  WalkedLeg leg;
  leg.along = true;
  leg.points.push_back(from);
  std::vector<const VergeSegment*> between;
  for (const VergeSegment& segment : verge.segments) {
    const double metre = middle_m(segment);
    if (metre <= std::min(from_m, to.metre) || metre >= std::max(from_m, to.metre)) continue;
    const bool same = !between.empty() && between.back()->number == segment.number;
    if (!same)
      between.push_back(&segment);
    else if (to.side == word(segment.side))
      between.back() = &segment;
  }
  if (from_m > to.metre) std::reverse(between.begin(), between.end());
  for (const VergeSegment* segment : between) leg.points.push_back(segment->middle);
  leg.points.push_back(to.at);
  leg.crossing.assign(leg.points.size(), false);
  return leg;
}

}  // namespace

WalkedLegs walked_legs(const Access& access, const Site* site, Point start,
                       const std::vector<Point>& places) {
  WalkedLegs legs;
  if (places.empty()) return legs;
  std::vector<Point> all{start};
  all.insert(all.end(), places.begin(), places.end());
  LegFinder finder({access, site}, all);
  std::vector<std::size_t> numbers;
  for (std::size_t i = 1; i < all.size(); ++i) numbers.push_back(i);
  legs.from_start = finder.from(0, numbers);
  for (std::size_t i = 1; i < all.size(); ++i)
    legs.from_last.push_back(i == 1 ? legs.from_start.front() : finder.from(i - 1, {i}).front());
  return legs;
}

WalkedLegs legs_along(const Verge& verge, Point start, const std::vector<VergePlace>& places) {
  WalkedLegs legs;
  double start_m = 0, least = std::numeric_limits<double>::infinity();
  for (const VergeSegment& segment : verge.segments)
    if (const double away = metres_between(segment.middle, start); away < least) {
      least = away;
      start_m = middle_m(segment);
    }
  for (std::size_t i = 0; i < places.size(); ++i) {
    legs.from_start.push_back(leg_along(verge, start, start_m, places[i]));
    legs.from_last.push_back(i == 0 ? legs.from_start.front()
                                    : leg_along(verge, places[i - 1].at, places[i - 1].metre, places[i]));
  }
  return legs;
}

Point entry_nearest(const Geometry& area, Point to) {
  GEOSContextHandle_t const handle = geos();
  const Geometry edge = boundary(area), point = point_geometry(to);
  GEOSCoordSequence* pair = GEOSNearestPoints_r(handle, edge.get(), point.get());
  if (pair == nullptr) throw Defect("an area without a boundary");
  Point on_edge;
  GEOSCoordSeq_getXY_r(handle, pair, 0, &on_edge.x, &on_edge.y);
  GEOSCoordSeq_destroy_r(handle, pair);
  return on_edge;
}

}  // namespace swardline
