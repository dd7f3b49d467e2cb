#include "swardline/report/map_layout.hpp"

#include <algorithm>
#include <cmath>

namespace swardline {
namespace {

constexpr double map_left = 24;
constexpr double map_top = 64;
constexpr double plain_side = 640;       // pixels of an ordinary map
constexpr double largest_side = 1100;    // of a crowded one, and of the parts of a long one together
constexpr double part_gap = 30;          // room for a part's heading
constexpr std::size_t comfortable = 40;  // names that fit an ordinary map
constexpr double width_to_see = 6;       // pixels
constexpr int most_parts = 12;

Box grown(const Box& box, double by) { return {box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by}; }

MapLayout whole(const Box& ground, double side) {
  MapView view;
  const double longest = std::max(ground.x1 - ground.x0, ground.y1 - ground.y0);
  view.ground = grown(ground, 0.03 * longest + 2);
  view.pixels_per_m = side / std::max(view.ground.x1 - view.ground.x0, view.ground.y1 - view.ground.y0);
  view.left = map_left;
  view.top = map_top;
  return {{view}, true, view.left + view.width(), view.top + view.height()};
}

// The site in `count` equal lengths along its longer side, all at one scale, below or beside each other.
MapLayout in_parts(const Site& site, int count, double reach_m) {
  const Box all = site.drawn.box();
  MapLayout layout;
  layout.west_to_east = all.x1 - all.x0 >= all.y1 - all.y0;
  const double length = (layout.west_to_east ? all.x1 - all.x0 : all.y1 - all.y0) / count;
  const double margin = reach_m + 0.02 * length;
  const double scale = plain_side / (length + 2 * margin);
  double along = layout.west_to_east ? map_top + part_gap / 2 : map_left;
  for (int i = 0; i < count; ++i) {
    Box slab = all;
    if (layout.west_to_east)
      slab = {all.x0 + i * length, all.y0, all.x0 + (i + 1) * length, all.y1};
    else
      slab = {all.x0, all.y1 - (i + 1) * length, all.x1, all.y1 - i * length};
    const Geometry piece = clipped(site.drawn, slab);
    MapView view;
    view.pixels_per_m = scale;
    view.core = slab;
    if (!piece.empty()) {
      const Box here = piece.box();
      if (layout.west_to_east)
        slab = {slab.x0, here.y0, slab.x1, here.y1};
      else
        slab = {here.x0, slab.y0, here.x1, slab.y1};
    }
    view.ground = grown(slab, margin);
    view.left = layout.west_to_east ? map_left : along;
    view.top = layout.west_to_east ? along : map_top + part_gap / 2;
    along += (layout.west_to_east ? view.height() : view.width()) + part_gap;
    layout.right = std::max(layout.right, view.left + view.width());
    layout.bottom = std::max(layout.bottom, view.top + view.height());
    layout.parts.push_back(view);
  }
  return layout;
}

}  // namespace

std::size_t MapLayout::part_of(Point point) const {
  for (std::size_t i = 0; i + 1 < parts.size(); ++i) {
    const Box& core = parts[i].core;
    if (west_to_east ? point.x < core.x1 : point.y > core.y0) return i;
  }
  return parts.size() - 1;
}

MapLayout map_layout(const Site& site, std::size_t names, double reach_m) {
  const double crowd = std::sqrt(double(names) / double(comfortable));
  MapLayout layout = whole(site.drawn.box(), std::min(largest_side, plain_side * std::max(1.0, crowd)));
  // A long strip's area over half its outline is its width.
  const double width_m = 2 * site.drawn.area() / site.drawn.length();
  for (int count = 2; count <= most_parts; ++count) {
    if (width_m * layout.parts.front().pixels_per_m >= width_to_see) break;
    MapLayout next = in_parts(site, count, reach_m);
    if (std::max(next.right, next.bottom) > largest_side ||
        next.parts.front().pixels_per_m <= layout.parts.front().pixels_per_m)
      break;
    layout = std::move(next);
  }
  return layout;
}

}  // namespace swardline
