#include "swardline/report/map_drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <numbers>
#include <optional>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

constexpr double label_size = 10;

std::string fill_of(std::uint8_t code, std::size_t bands) {
  return code == map_excluded ? "url(#hatch)" : code == map_no_score ? "url(#dots)" : band_fill(code, bands);
}

// A letter and a number with one or two decimals. A map has tens of thousands, and general formatting takes
// most of its time.
void add_decimal(std::string& out, char letter, double value, int decimals) {
  const long long scale = decimals == 1 ? 10 : 100;
  const long long all = std::llround(std::abs(value) * double(scale));
  out += letter;
  if (value < 0 && all > 0) out += '-';
  out += std::to_string(all / scale);
  out += '.';
  if (decimals == 2) out += char('0' + all % scale / 10);
  out += char('0' + all % 10);
}

// Names beside their plots, moved round the mark until they cover no other name or mark and stay on the map.
class Labels {
 public:
  Labels(const MapView& view, const Geometry* clear)
      : view_(view),
        sheet_{view.left, view.top - 12, view.left + view.width(), view.top + view.height() + 12} {
    if (clear != nullptr) clear_.emplace(*clear);
  }
  void mark(double x, double y) { taken_.push_back({x - 5, y - 5, x + 5, y + 5}); }

  std::string place(const std::string& text, double x, double y) {
    const double width = letter_width * double(text.size());
    Box best;
    double least = 1e9;
    // Nearest first: beside the mark, then round it in growing circles, with a thin line back to it.
    for (const double away : {8.0, 16.0, 26.0, 38.0})
      for (const auto& [east, south] : directions) {
        if (least <= away / 100) break;  // nowhere from here on costs less
        const double left = x + east * away - width * (1 - east) / 2;
        const double middle = y + south * away;
        const Box box{left, middle - label_size / 2, left + width, middle + label_size / 2};
        const double cost =
            double(hits(box)) + (inside(box) ? 0 : 1000) + (on_clear(box) ? 0.5 : 0) + away / 100;
        if (cost >= least) continue;
        least = cost;
        best = box;
      }
    ++placed_;
    if (hits(best) > 0 || !inside(best)) ++unreadable_;
    taken_.push_back(best);
    std::string out;
    const double near_x = std::clamp(x, best.x0, best.x1);
    const double near_y = std::clamp(y, best.y0, best.y1);
    if (std::hypot(near_x - x, near_y - y) > 10)
      out += fmt::format("<path class=\"lead\" d=\"M{:.1f} {:.1f}L{:.1f} {:.1f}\"/>\n", x, y, near_x, near_y);
    return out + fmt::format("<text class=\"name\" x=\"{:.1f}\" y=\"{:.1f}\">{}</text>\n", best.x0,
                             best.y1 - 1.5, xml_escape(text));
  }

  /// Nine in ten names are on the sheet and by themselves.
  [[nodiscard]] bool readable() const { return 10 * unreadable_ <= placed_; }

 private:
  static constexpr double letter_width = 6.8;  // of capitals at label_size, in common sans-serif faces
  static constexpr std::pair<double, double> directions[] = {
      {1, 0}, {-1, 0}, {0, -1.1}, {0, 1.1}, {0.8, -0.8}, {0.8, 0.8}, {-0.8, -0.8}, {-0.8, 0.8}};

  [[nodiscard]] std::ptrdiff_t hits(const Box& box) const {
    return std::count_if(taken_.begin(), taken_.end(), [&](const Box& b) { return b.meets(box); });
  }
  [[nodiscard]] bool inside(const Box& box) const {
    return box.x0 >= sheet_.x0 && box.x1 <= sheet_.x1 && box.y0 >= sheet_.y0 && box.y1 <= sheet_.y1;
  }

  [[nodiscard]] bool on_clear(const Box& box) const {
    if (!clear_) return false;
    const auto east = [&](double px) { return view_.ground.x0 + (px - view_.left) / view_.pixels_per_m; };
    const auto north = [&](double px) { return view_.ground.y1 - (px - view_.top) / view_.pixels_per_m; };
    return clear_->intersects(box_polygon({east(box.x0), north(box.y1), east(box.x1), north(box.y0)}));
  }

  const MapView& view_;
  Box sheet_;
  std::optional<PreparedArea> clear_;
  std::vector<Box> taken_;
  std::size_t placed_ = 0, unreadable_ = 0;
};

bool named(const Plot& plot, NamesShown names) {
  return names == NamesShown::all || (names == NamesShown::planned && !plot.spare);
}

double round_length(double metres) {
  const double power = std::pow(10, std::floor(std::log10(metres)));
  for (const double step : {5.0, 2.0})
    if (step * power <= metres) return step * power;
  return power;
}

}  // namespace

std::string svg_path(const Geometry& polygons, const MapView& view) {
  std::string path;
  for (const auto& ring : rings_of(polygons).rings) {
    for (std::size_t i = 0; i < ring.size(); ++i)
      path += fmt::format("{}{:.1f} {:.1f}", i == 0 ? "M" : "L", view.x(ring[i].x), view.y(ring[i].y));
    path += "Z";
  }
  return path;
}

std::string svg_cells(const SiteCells& cells, const Grid& grid, const MapView& view, std::size_t bands) {
  std::map<std::uint8_t, std::string> paths;  // one for each fill: a third of the size of as many rectangles
  const Box box = grid.box(cells.window);
  const double side = grid.cell_m * cells.step;
  // The last row and column of a thinned window may stand for fewer cells.
  const auto east = [&](int col) { return std::min(box.x0 + col * side, box.x1); };
  const auto north = [&](int row) { return std::max(box.y1 - row * side, box.y0); };
  for (int row = 0; row < cells.rows; ++row) {
    const std::uint8_t* codes = cells.codes.data() + std::size_t(row) * std::size_t(cells.cols);
    for (int begin = 0; begin < cells.cols;) {
      int end = begin + 1;
      while (end < cells.cols && codes[end] == codes[begin]) ++end;
      if (codes[begin] == map_nothing) {
        begin = end;
        continue;
      }
      const double width = (east(end) - east(begin)) * view.pixels_per_m + 0.3;
      std::string& path = paths[codes[begin]];
      add_decimal(path, 'M', view.x(east(begin)), 1);
      add_decimal(path, ' ', view.y(north(row)), 1);
      add_decimal(path, 'h', width, 2);
      add_decimal(path, 'v', (north(row) - north(row + 1)) * view.pixels_per_m + 0.3, 2);
      add_decimal(path, 'h', -width, 2);
      path += 'z';
      begin = end;
    }
  }
  std::string out;
  for (const auto& [code, path] : paths)
    out += fmt::format("<path fill=\"{}\" d=\"{}\"/>\n", fill_of(code, bands), path);
  return out;
}

NamesShown readable_names(const std::vector<const Plot*>& plots, const MapView& view, const Geometry* clear) {
  for (const NamesShown names : {NamesShown::all, NamesShown::planned}) {
    Labels labels(view, clear);
    for (const Plot* plot : plots) labels.mark(view.x(plot->east), view.y(plot->north));
    for (const Plot* plot : plots)
      if (named(*plot, names)) (void)labels.place(plot->name, view.x(plot->east), view.y(plot->north));
    if (labels.readable()) return names;
  }
  return NamesShown::none;
}

std::string svg_plots(const std::vector<const Plot*>& plots, const SampleSpec& sample, const MapView& view,
                      const Geometry* clear, NamesShown names_shown, const std::string& sheet) {
  std::string shapes;
  std::string names;
  Labels labels(view, clear);
  for (const Plot* plot : plots) labels.mark(view.x(plot->east), view.y(plot->north));
  for (const Plot* plot : plots) {
    const double x = view.x(plot->east);
    const double y = view.y(plot->north);
    const double long_m = plot->outline ? (plot->to_m - plot->from_m) / 2 : sample.reach_m();
    if (long_m * view.pixels_per_m > 4)
      shapes += fmt::format(
          "<path class=\"casing\" d=\"{0}\"/><path class=\"unit\" d=\"{0}\"/>\n",
          svg_path(plot->outline ? *plot->outline
                                 : plot_polygon(sample.shape, sample.size_m, {plot->east, plot->north},
                                                plot->grid_bearing_deg),
                   view));
    shapes += fmt::format("<circle class=\"{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"3.2\"/>\n",
                          plot->spare ? "spare" : "plot", x, y);
    if (named(*plot, names_shown)) names += labels.place(plot->name, x, y);
  }
  if (!sheet.empty()) shapes = fmt::format("<g clip-path=\"url(#{})\">\n{}</g>\n", sheet, shapes);
  return shapes + names;
}

std::string svg_names(const std::vector<const Plot*>& plots, const MapView& view) {
  Labels labels(view, nullptr);
  for (const Plot* plot : plots) labels.mark(view.x(plot->east), view.y(plot->north));
  std::string names;
  for (const Plot* plot : plots) names += labels.place(plot->name, view.x(plot->east), view.y(plot->north));
  return names;
}

std::string svg_transects(const std::vector<const Transect*>& transects, const MapView& view,
                          const std::string& sheet) {
  std::string out;
  for (const Transect* transect : transects) {
    std::string path;
    for (const std::vector<Point>& part : lines_of(transect->line))
      for (std::size_t i = 0; i < part.size(); ++i)
        path += fmt::format("{}{:.1f} {:.1f}", i == 0 ? "M" : "L", view.x(part[i].x), view.y(part[i].y));
    if (path.empty()) continue;
    out += fmt::format("<path class=\"casing\" d=\"{0}\"/><path class=\"{1}\" d=\"{0}\"/>\n", path,
                       transect->unit.spare ? "thin" : "line");
  }
  return out.empty() ? out : fmt::format("<g clip-path=\"url(#{})\">\n{}</g>\n", sheet, out);
}

std::string svg_legend(const std::vector<double>& bands, const std::string& head, double x, double y,
                       const std::string& unit) {
  std::string out =
      fmt::format("<text class=\"head\" x=\"{:.0f}\" y=\"{:.0f}\">{}</text>\n", x, y, xml_escape(head));
  const auto entry = [&](const std::string& fill, const std::string& text) {
    y += 20;
    out += fmt::format(
        "<rect x=\"{0:.0f}\" y=\"{1:.0f}\" width=\"26\" height=\"14\" fill=\"{2}\" stroke=\"#444\" "
        "stroke-width=\"0.6\"/>"
        "<text x=\"{3:.0f}\" y=\"{4:.0f}\">{5}</text>\n",
        x, y - 11, fill, x + 34, y, text);
  };
  for (std::size_t i = bands.size() + 1; i-- > 0;) entry(band_fill(i, bands.size() + 1), band_text(bands, i));
  entry("url(#dots)", "no score");
  entry("url(#hatch)", "excluded");
  out += fmt::format(
      "<circle class=\"plot\" cx=\"{0:.0f}\" cy=\"{1:.0f}\" r=\"3.2\"/><text x=\"{2:.0f}\" "
      "y=\"{3:.0f}\">{6}</text>\n"
      "<circle class=\"spare\" cx=\"{0:.0f}\" cy=\"{4:.0f}\" r=\"3.2\"/><text x=\"{2:.0f}\" "
      "y=\"{5:.0f}\">spare {6}</text>\n",
      x + 13, y + 20, x + 34, y + 24, y + 40, y + 44, unit);
  return out;
}

double drawn_convergence_deg(Point plane, const Route& to_wgs84) {
  constexpr double step_deg = 1e-4;  // some 11 m to either side
  const Point here = to_wgs84.forward(plane);
  const Point north = to_wgs84.back(Point{here.x, here.y + step_deg});
  const Point south = to_wgs84.back(Point{here.x, here.y - step_deg});
  return std::atan2(south.x - north.x, north.y - south.y) * 180 / std::numbers::pi;
}

std::string svg_scale_and_north(double pixels_per_m, double convergence_deg, double x, double y) {
  const double metres = round_length(150 / pixels_per_m);
  const double width = metres * pixels_per_m;
  std::string out = fmt::format(
      "<path class=\"line\" d=\"M{0:.1f} {1:.1f}v6h{2:.1f}v-6\"/><text x=\"{0:.1f}\" y=\"{3:.1f}\">{4} "
      "m</text>\n",
      x, y, width, y + 22, shortest(metres));
  out += fmt::format(
      "<g transform=\"translate({:.1f} {:.1f}) rotate({:.2f})\"><path class=\"line\" d=\"M0 20V-20M-5 -12L0 "
      "-20L5 -12\"/></g>"
      "<text x=\"{:.1f}\" y=\"{:.1f}\">true north: {:.1f}° {} of grid north</text>\n",
      x + 10, y - 44, -convergence_deg, x + 28, y - 40, std::abs(convergence_deg),
      convergence_deg < 0 ? "east" : "west");
  return out;
}

std::string svg_definitions() {
  return "<style>text{font:12px sans-serif;fill:#111}.title{font:bold 17px sans-serif}.head{font-weight:bold}"
         ".name{font-size:10px;paint-order:stroke;stroke:#fff;stroke-width:2.6px}.plot{fill:#000;stroke:#fff;"
         "stroke-width:1}"
         ".lead{stroke:#111;stroke-width:0.6;fill:none}.casing{fill:none;stroke:#fff;stroke-width:2.6}"
         ".thin{fill:none;stroke:#111;stroke-width:0.7}.frame{fill:none;stroke:#999;stroke-width:0.8}"
         ".spare{fill:#fff;stroke:#000;stroke-width:1.2}.unit{fill:none;stroke:#000;stroke-width:0.8}"
         ".line{fill:none;stroke:#111;stroke-width:1.4}.small{font-size:11px;fill:#333}</style>\n"
         "<defs><pattern id=\"hatch\" width=\"7\" height=\"7\" patternUnits=\"userSpaceOnUse\" "
         "patternTransform=\"rotate(45)\">"
         "<rect width=\"7\" height=\"7\" fill=\"#fff\"/><path d=\"M0 0V7\" stroke=\"#555\" "
         "stroke-width=\"1.6\"/></pattern>\n"
         "<pattern id=\"dots\" width=\"6\" height=\"6\" patternUnits=\"userSpaceOnUse\"><rect width=\"6\" "
         "height=\"6\" fill=\"#fff\"/>"
         "<circle cx=\"2\" cy=\"2\" r=\"0.9\" fill=\"#555\"/></pattern></defs>\n";
}

}  // namespace swardline
