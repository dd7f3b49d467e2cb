#include "swardline/report/season_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/habitat/band_colours.hpp"
#include "swardline/habitat/score_season.hpp"
#include "swardline/report/cell_outlines.hpp"
#include "swardline/report/chart_text.hpp"
#include "swardline/report/map_drawing.hpp"

namespace swardline {
namespace {

constexpr double column_width = 520;
constexpr double near_enough = 0.6;  // pixels: nearer corners of an outline are one on the screen
constexpr std::size_t names_that_fit = 60;

void add_at(std::string& path, char letter, double x, double y) {
  path += letter;
  add_short_number(path, x);
  path += ' ';
  add_short_number(path, y);
}

/// Rings without the corners that nobody could see.
std::string short_path(const Geometry& polygons, const MapView& view) {
  std::string path;
  for (const auto& ring : rings_of(polygons).rings) {
    double x0 = 0, y0 = 0;
    for (std::size_t i = 0; i < ring.size(); ++i) {
      const double x = view.x(ring[i].x), y = view.y(ring[i].y);
      if (i > 0 && std::hypot(x - x0, y - y0) < near_enough) continue;
      add_at(path, i == 0 ? 'M' : 'L', x, y);
      x0 = x;
      y0 = y;
    }
    path += 'z';
  }
  return path;
}

/// A layout made for a sheet of its own, at the size it has beside others: names and marks keep theirs.
MapLayout in_a_column(MapLayout layout) {
  const double scale = (column_width - 20) / std::max({layout.right, layout.bottom, column_width - 20});
  for (MapView& view : layout.parts) {
    view.left *= scale;
    view.top *= scale;
    view.pixels_per_m *= scale;
  }
  layout.right *= scale;
  layout.bottom *= scale;
  return layout;
}

std::string shade_of(std::uint8_t code) {
  return code == map_excluded ? "hatch" : code == map_no_score ? "dots" : fmt::format("band{}", code);
}

std::string ground_of(const SeasonMap& map, const MapView& view, const GroundReader& read, int most_cells,
                      const std::string& part_id) {
  const Window window = intersect(map.grid.covering(map.site.survey.box()), map.grid.covering(view.ground));
  if (window.empty()) return {};
  const SiteCells cells = read(window, most_cells);
  const Box box = map.grid.box(cells.window);
  const double side = map.grid.cell_m * cells.step;
  std::vector<double> xs, ys;
  // The last row and column of a thinned window may stand for fewer cells.
  for (int col = 0; col <= cells.cols; ++col) xs.push_back(view.x(std::min(box.x0 + col * side, box.x1)));
  for (int row = 0; row <= cells.rows; ++row) ys.push_back(view.y(std::max(box.y1 - row * side, box.y0)));
  std::string out;
  for (const auto& [code, path] : cell_outlines(cells, xs, ys)) {
    if (code >= map_nothing || code == 0) {
      out += fmt::format("<path fill=\"{}\" d=\"{}\"/>\n",
                         code == 0 ? band_fill(0, map.bands) : fmt::format("url(#{})", shade_of(code)), path);
      continue;
    }
    // The shade, and over it its texture: either alone tells the bands apart.
    out += fmt::format(
        "<g fill=\"{0}\"><path id=\"{1}\" d=\"{2}\"/></g><use href=\"#{1}\" fill=\"url(#band{3})\"/>\n",
        band_fill(code, map.bands), fmt::format("{}-b{}", part_id, code), path, code);
  }
  return out;
}

std::string shape_of(MarkKind kind, double x, double y) {
  std::string at;
  add_at(at, 'M', x, y);
  std::string cx, cy;
  add_short_number(cx, x);
  add_short_number(cy, y);
  const auto disc = [&](const char* look, double r) {
    return fmt::format("<circle{} cx=\"{}\" cy=\"{}\" r=\"{}\"/>", look, cx, cy, r);
  };
  switch (kind) {
    case MarkKind::found:
      return disc(" class=\"full\"", 4.6);
    case MarkKind::none_found:
      return disc("", 4.2);
    case MarkKind::not_counted:
      return disc("", 5) + fmt::format("<path d=\"{}m-3-3l6 6m0-6l-6 6\"/>", at);
    case MarkKind::no_return:
      return fmt::format("<path d=\"{}m-4.2-4.2h8.4v8.4h-8.4z\"/>", at);
    case MarkKind::spare:
      return fmt::format("<path d=\"{}m0-4l4 4-4 4-4-4z\"/>", at);
    case MarkKind::resting:
      return disc("", 2);
    case MarkKind::not_in_use:
      return fmt::format("<path d=\"{}m-3.4 2.8l3.4-5.8 3.4 5.8z\"/>", at);
  }
  return {};
}

// Marks in reading order of parts would not be walking order, so all come after the ground.
std::string marks_of(const SeasonMap& map, const MapLayout& layout) {
  std::string out;
  const bool named = map.marks.size() <= names_that_fit;
  for (const SeasonMark& mark : map.marks) {
    const MapView& view = layout.parts[layout.part_of({mark.east, mark.north})];
    out += fmt::format("<g class=\"plot-mark\" data-plot=\"{}\"><title>{}: {}</title>{}</g>\n", mark.record,
                       xml_escape(mark.name), word(mark.kind),
                       shape_of(mark.kind, view.x(mark.east), view.y(mark.north)));
  }
  if (!named) return out;
  std::vector<Plot> shown;
  for (const SeasonMark& mark : map.marks) {
    if (mark.kind == MarkKind::spare || mark.kind == MarkKind::resting || mark.kind == MarkKind::not_in_use)
      continue;
    Plot& plot = shown.emplace_back();
    plot.name = mark.name;
    plot.east = mark.east;
    plot.north = mark.north;
  }
  for (std::size_t i = 0; i < layout.parts.size(); ++i) {
    std::vector<const Plot*> here;
    for (const Plot& plot : shown)
      if (layout.part_of({plot.east, plot.north}) == i) here.push_back(&plot);
    if (readable_names(here, layout.parts[i]) != NamesShown::none) out += svg_names(here, layout.parts[i]);
  }
  return out;
}

}  // namespace

const char* word(MarkKind kind) {
  switch (kind) {
    case MarkKind::found:
      return "counted, found";
    case MarkKind::none_found:
      return "counted, none found";
    case MarkKind::not_counted:
      return "not counted, with a reason";
    case MarkKind::no_return:
      return "nothing came back";
    case MarkKind::spare:
      return "spare, not used";
    case MarkKind::resting:
      return "resting this season";
    case MarkKind::not_in_use:
      return "not in use: its status says why";
  }
  return "";
}

std::string svg_season_map(const SeasonMap& map, const GroundReader& ground, int most_cells) {
  const MapLayout layout = in_a_column(map_layout(map.site, 0, map.reach_m));
  std::string out;
  for (std::size_t i = 0; i < layout.parts.size(); ++i) {
    const MapView& view = layout.parts[i];
    const std::string area = short_path(map.site.survey, view);
    out += fmt::format(
        "<clipPath id=\"{0}-s{1}\"><rect x=\"{2:.1f}\" y=\"{3:.1f}\" width=\"{4:.1f}\" "
        "height=\"{5:.1f}\"/></clipPath>\n<clipPath id=\"{0}-a{1}\"><path d=\"{6}\" "
        "clip-rule=\"evenodd\"/></clipPath>\n<g clip-path=\"url(#{0}-s{1})\">\n<g "
        "class=\"shade\" clip-path=\"url(#{0}-a{1})\" shape-rendering=\"crispEdges\">\n{7}</g>\n",
        map.id, i, view.left, view.top, view.width(), view.height(), area,
        ground_of(map, view, ground, most_cells / int(layout.parts.size()), fmt::format("{}-{}", map.id, i)));
    for (const ExcludedPiece& piece : map.site.excluded)
      out += fmt::format("<path class=\"cut\" d=\"{}\"><title>{}</title></path>\n",
                         short_path(piece.area, view), xml_escape(piece.reason));
    out += fmt::format("<path class=\"edge\" d=\"{}\"/>\n</g>\n", area);
    if (!map.transects.empty()) out += svg_transects(map.transects, view, fmt::format("{}-s{}", map.id, i));
  }
  out += marks_of(map, layout);
  const double foot = layout.bottom + 10;
  out += svg_scale_and_north(layout.parts.front().pixels_per_m, map.convergence_deg, 12, foot + 62);
  double head =
      layout.parts.front().top;  // the layout leaves room for a title, which stands above the map here
  for (const MapView& view : layout.parts) head = std::min(head, view.top);
  head -= 16;
  return fmt::format(
             "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"ground\" role=\"group\" "
             "aria-label=\"{0}\" viewBox=\"0 {1:.0f} {2:.0f} {3:.0f}\">\n",
             xml_escape(map.message), head, column_width, foot + 92 - head) +
         out + "</svg>\n";
}

std::string season_map_definitions(std::size_t bands) {
  std::string out =
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"patterns\" width=\"0\" height=\"0\" "
      "aria-hidden=\"true\"><defs>\n"
      "<pattern id=\"hatch\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" "
      "patternTransform=\"rotate(45)\"><rect width=\"7\" height=\"7\" fill=\"#fff\"/><path d=\"M0 0V7\" "
      "stroke=\"#444\" stroke-width=\"2\"/></pattern>\n"
      "<pattern id=\"dots\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><rect width=\"6\" "
      "height=\"6\" fill=\"#fff\"/><circle cx=\"2\" cy=\"2\" r=\"0.9\" fill=\"#444\"/></pattern>\n";
  // Level lines, denser with each band; the lowest has none.
  for (std::size_t band = 1; band < bands; ++band) {
    const double step = 14.0 / double(band);
    out += fmt::format(
        "<pattern id=\"band{0}\" width=\"8\" height=\"{1:.2f}\" patternUnits=\"userSpaceOnUse\"><path d=\"M0 "
        "{2:.2f}H8\" stroke=\"#14212b\" stroke-width=\"0.5\"/></pattern>\n",
        band, step, step / 2);
  }
  return out + "</defs></svg>\n";
}

std::string svg_season_legend(const std::vector<double>& bands, const std::string& score_of,
                              const std::vector<MarkKind>& kinds, const std::string& unit) {
  const std::size_t all = bands.size() + 1;
  std::string out, says;
  double x = 0;
  const auto shade = [&](const std::string& fills, const std::string& text) {
    out += fmt::format(
        "{0}<rect class=\"swatch\" x=\"{1:.0f}\" y=\"22\" width=\"30\" height=\"16\"/><text x=\"{2:.0f}\" "
        "y=\"35\">{3}</text>\n",
        fills, x, x + 36, text);
    x += 36 + text_width(text) + 16;
  };
  const auto filled = [&](const std::string& fill) {
    return fmt::format("<rect class=\"shade\" x=\"{:.0f}\" y=\"22\" width=\"30\" height=\"16\" fill=\"{}\"/>",
                       x, fill);
  };
  out += fmt::format("<text class=\"head\" x=\"0\" y=\"13\">{}</text>\n", xml_escape(score_of));
  for (std::size_t band = 0; band < all; ++band)
    shade(filled(band_fill(band, all)) + (band > 0 ? filled(fmt::format("url(#band{})", band)) : ""),
          band_text(bands, band));
  shade(filled("url(#dots)"), "no score");
  shade(filled("url(#hatch)"), "excluded or cut out");
  double right = x;
  x = 8;
  double y = 78;
  out += fmt::format("<text class=\"head\" x=\"0\" y=\"58\">{}</text>\n", xml_escape(unit));
  for (const MarkKind kind : kinds) {
    const std::string text = word(kind);
    if (x + 20 + text_width(text) > 940) {
      x = 8;
      y += 20;
    }
    out += fmt::format("<g class=\"plot-mark\">{}</g><text x=\"{:.0f}\" y=\"{:.0f}\">{}</text>\n",
                       shape_of(kind, x, y), x + 12, y + 4, text);
    x += 20 + text_width(text) + 14;
    right = std::max(right, x);
    says += (says.empty() ? "" : "; ") + text;
  }
  return fmt::format(
             "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart map-legend\" viewBox=\"-2 0 {0:.0f} "
             "{1:.0f}\" role=\"img\" aria-label=\"What the maps show: ground from light to dark and in lines "
             "from "
             "far to close by score, dotted where there is no score, hatched where it is excluded or cut "
             "out; "
             "marks for {2}.\">\n",
             std::max(right, 620.0) + 4, y + 14, xml_escape(says)) +
         out + "</svg>\n";
}

const char* const season_map_style = R"(
.patterns{position:absolute}
.sites{display:grid;grid-template-columns:repeat(auto-fill,minmax(min(100%,34rem),1fr));gap:1.2rem 2rem;align-items:start}
figure.site{margin:0;break-inside:avoid}
figure.site h3{margin:.8rem 0 .1rem}
svg.ground{width:100%;height:auto;display:block;font:12px "Liberation Sans",Arial,sans-serif}
svg.ground text{fill:#14212b}
.ground .name{font-size:10px;paint-order:stroke;stroke:#fff;stroke-width:2.6px}
.ground .lead{stroke:#14212b;stroke-width:.6;fill:none}
.ground .edge,.ground .line{fill:none;stroke:#14212b;stroke-width:1.4}
.ground .thin{fill:none;stroke:#14212b;stroke-width:.7}
.ground .casing{fill:none;stroke:#fff;stroke-width:2.6}
.ground .cut{fill:url(#hatch);fill-rule:evenodd;stroke:#333;stroke-width:.8}
.plot-mark circle,.plot-mark path{fill:#fff;stroke:#000;stroke-width:1.4}
.plot-mark .full{fill:#000;stroke:#fff;stroke-width:1.2}
.ground .plot-mark{cursor:pointer}
.plot-mark:focus{outline:none}
.plot-mark.shown circle,.plot-mark.shown path,.plot-mark:focus circle,.plot-mark:focus path{stroke:#000;stroke-width:4}
.plot-mark.shown .full,.plot-mark:focus .full{fill:#fff;stroke-width:5}
.map-legend{max-width:60rem}
.map-legend .head{font-weight:bold}
.map-legend .swatch{fill:none;stroke:#14212b;stroke-width:.8}
.site .drawn{position:relative}
.record{position:absolute;top:calc(100% - 5.4rem);right:0;width:53%;background:#fff;padding:.2rem .6rem;font-size:.85rem;pointer-events:none;z-index:1}
.record.told{border:2px solid var(--ink);border-left-width:6px}
.record h4{margin:0}
.record dl{margin:.1rem 0;gap:0 .8rem}
.record .rest{margin:.2rem 0}
@media screen and (max-width:44rem){
.record{position:static;width:auto;min-height:3.4rem;padding:.2rem 0}.record.told{padding:.2rem .6rem}
}
@media print{
.record,.ground .name,.ground .lead{display:none}
.sites{grid-template-columns:1fr 1fr;gap:2mm 6mm}
figure.site h3{margin:0}.site figcaption p{font-size:8pt;margin:0 0 1mm}
svg.ground{max-height:6.4cm;font-size:15px}
.shade{opacity:.62}
.ground .plot-mark{transform-box:fill-box;transform-origin:50% 50%;transform:scale(1.6)}
}
)";

}  // namespace swardline
