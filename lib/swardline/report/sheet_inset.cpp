#include "swardline/report/sheet_inset.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "swardline/report/sheet_outline.hpp"

namespace swardline {
namespace {

/// Whether a straight line comes into a box (Liang and Barsky 1984).
bool comes_in(const Box& box, Point a, Point b) {
  double from = 0, until = 1;
  const std::array<std::array<double, 2>, 4> sides = {{{a.x - b.x, a.x - box.x0},
                                                       {b.x - a.x, box.x1 - a.x},
                                                       {a.y - b.y, a.y - box.y0},
                                                       {b.y - a.y, box.y1 - a.y}}};
  for (const auto& [step, left] : sides) {
    if (step == 0 && left < 0) return false;
    if (step < 0) from = std::max(from, left / step);
    if (step > 0) until = std::min(until, left / step);
  }
  return from <= until;
}

/// The ground of the inset: the site, and the start where it is not far off.
Box ground_of_inset(const SiteSheet& sheet, const SheetGround& ground, const SheetView& view) {
  Box box = view.ground;
  if (!ground.survey.empty()) box = ground.survey.box();
  if (sheet.walk->start) {
    const Point at = *sheet.walk->start;
    Box with = box;
    with.grow({at.x, at.y, at.x, at.y});
    const double before = std::max(box.x1 - box.x0, box.y1 - box.y0);
    if (std::max(with.x1 - with.x0, with.y1 - with.y0) < 2 * before) box = with;
  }
  return box;
}

SheetView view_in(const Box& mm, const Box& ground) {
  constexpr double rim = 2;
  SheetView view;
  const double wide = std::max(ground.x1 - ground.x0, 1.0), high = std::max(ground.y1 - ground.y0, 1.0);
  view.mm_per_m = std::min((mm.x1 - mm.x0 - 2 * rim) / wide, (mm.y1 - mm.y0 - 2 * rim) / high);
  const Point middle = ground.middle();
  const double half_wide = (mm.x1 - mm.x0) / view.mm_per_m / 2,
               half_high = (mm.y1 - mm.y0) / view.mm_per_m / 2;
  view.ground = {middle.x - half_wide, middle.y - half_high, middle.x + half_wide, middle.y + half_high};
  view.left = mm.x0;
  view.top = mm.y0;
  return view;
}

/// The map's ground; never a speck.
std::string loop_box(const SheetView& inset, const Box& map) {
  constexpr double least = 1.6;
  double x0 = inset.x(map.x0), x1 = inset.x(map.x1), y0 = inset.y(map.y1), y1 = inset.y(map.y0);
  const double more_x = std::max(0.0, least - (x1 - x0)) / 2, more_y = std::max(0.0, least - (y1 - y0)) / 2;
  x0 -= more_x, x1 += more_x, y0 -= more_y, y1 += more_y;
  return fmt::format("<rect class=\"loop\" x=\"{:.2f}\" y=\"{:.2f}\" width=\"{:.2f}\" height=\"{:.2f}\"/>\n",
                     x0, y0, x1 - x0, y1 - y0);
}

}  // namespace

std::optional<Box> free_corner(const SiteSheet& sheet, const SheetView& view, const Box& frame) {
  constexpr double clear = 4;  // a mark and its number
  const std::array<Point, 4> corners = {{{frame.x1 - inset_width, frame.y0},
                                         {frame.x0, frame.y0},
                                         {frame.x1 - inset_width, frame.y1 - inset_height},
                                         {frame.x0, frame.y1 - inset_height}}};
  for (const Point& corner : corners) {
    const Box box{corner.x, corner.y, corner.x + inset_width, corner.y + inset_height};
    const Box wide{box.x0 - clear, box.y0 - clear, box.x1 + clear, box.y1 + clear};
    const auto covers = [&](Point at) {
      const Point mm{view.x(at.x), view.y(at.y)};
      return wide.meets({mm.x, mm.y, mm.x, mm.y});
    };
    bool taken = sheet.walk->start && covers(*sheet.walk->start);
    for (std::size_t i = sheet.begin; i < sheet.end && !taken; ++i) {
      taken = covers({sheet.walk->plots[i].plot->east, sheet.walk->plots[i].plot->north});
      const std::vector<Point>& way = sheet.leg_to(i).line;
      // The way from the start stands in the inset itself.
      for (std::size_t k = 1; i > sheet.begin && k < way.size() && !taken; ++k)
        taken =
            comes_in(box, {view.x(way[k - 1].x), view.y(way[k - 1].y)}, {view.x(way[k].x), view.y(way[k].y)});
    }
    if (!taken) return box;
  }
  return {};
}

std::string inset_markup(const SiteSheet& sheet, const SheetGround& ground, const SheetView& view) {
  if (!view.inset) return {};
  const Box& mm = *view.inset;
  const SheetView inset = view_in(mm, ground_of_inset(sheet, ground, view));
  const std::string place = fmt::format("x=\"{0:.2f}\" y=\"{1:.2f}\" width=\"{2:.2f}\" height=\"{3:.2f}\"",
                                        mm.x0, mm.y0, mm.x1 - mm.x0, mm.y1 - mm.y0);
  std::string out =
      fmt::format("<rect class=\"inset\" {0}/>\n<svg {0} viewBox=\"{1:.2f} {2:.2f} {3:.2f} {4:.2f}\">\n",
                  place, mm.x0, mm.y0, mm.x1 - mm.x0, mm.y1 - mm.y0);
  for (const ExcludedPiece& piece : ground.excluded)
    if (!piece.area.empty())
      out += fmt::format("<path class=\"cut gone\" d=\"{}\"/>\n", map_outline(piece.area, inset));
  out += fmt::format("<path class=\"site\" d=\"{}\"/>\n", map_outline(ground.survey, inset));
  if (sheet.begin < sheet.end && !sheet.leg_to(sheet.begin).line.empty())
    out +=
        fmt::format("<path class=\"walk\" d=\"{}\"/>\n", map_polyline(sheet.leg_to(sheet.begin).line, inset));
  out += loop_box(inset, view.ground);
  if (sheet.walk->start)
    out +=
        fmt::format("<text class=\"p\" x=\"{:.2f}\" y=\"{:.2f}\">{}</text>\n", inset.x(sheet.walk->start->x),
                    inset.y(sheet.walk->start->y) + 1.2, sheet.walk->parking ? "P" : "E");
  return out + "</svg>\n";
}

}  // namespace swardline
