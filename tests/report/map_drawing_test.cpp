#include "swardline/report/map_drawing.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>
#include <proj.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>
#include <regex>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "svg.hpp"
#include "swardline/design/plot_area.hpp"

namespace map_drawing_test {

using namespace swardline;
using report_test::all;
using report_test::Element;
using report_test::elements_of;

namespace {

MapView view_of(const Box& ground, double pixels_per_m) {
  MapView view;
  view.ground = ground;
  view.pixels_per_m = pixels_per_m;
  return view;
}

std::string drawn(const std::vector<Plot>& plots, const MapView& view, double belt_length = 10) {
  SampleSpec sample;
  sample.size_m = {2, belt_length};
  std::vector<const Plot*> pointers;
  for (const Plot& plot : plots) pointers.push_back(&plot);
  return svg_plots(pointers, sample, view);
}

Plot plot_at(double east, double north, const std::string& name, bool spare = false) {
  Plot plot;
  plot.name = name;
  plot.east = east;
  plot.north = north;
  plot.spare = spare;
  plot.grid_bearing_deg = 30;
  return plot;
}

int overlaps(const std::vector<Box>& boxes) {
  int count = 0;
  for (std::size_t i = 0; i < boxes.size(); ++i)
    for (std::size_t j = 0; j < i; ++j) count += boxes[i].meets(boxes[j]);
  return count;
}

std::vector<Box> boxes_of_names(const std::vector<Element>& elements) {
  std::vector<Box> boxes;
  for (const Element& name : all(elements, "text", "name")) boxes.push_back(report_test::box_of_name(name));
  return boxes;
}

/// True north against grid north at a place, as PROJ has it: degrees clockwise of the meridian (meridian
/// convergence of proj_factors(), PROJ 8.2 and later for projected systems).
double proj_convergence(const std::string& crs, Point lon_lat) {
  const std::unique_ptr<PJ_CONTEXT, decltype(&proj_context_destroy)> context(proj_context_create(),
                                                                             proj_context_destroy);
  const std::unique_ptr<PJ, decltype(&proj_destroy)> system(proj_create(context.get(), crs.c_str()),
                                                            proj_destroy);
  REQUIRE(system != nullptr);
  const PJ_FACTORS factors =
      proj_factors(system.get(), proj_coord(proj_torad(lon_lat.x), proj_torad(lon_lat.y), 0, 0));
  REQUIRE(proj_errno(system.get()) == 0);
  return proj_todeg(factors.meridian_convergence);
}

/// A rectangle of cells on the sheet.
struct Painted {
  double y, x, w, h;
  std::string fill;
  bool operator<(const Painted& other) const { return std::pair(y, x) < std::pair(other.y, other.x); }
};

/// The rectangles that paths are made of, by row and from the left.
std::vector<Painted> painted_in(const std::vector<Element>& elements) {
  static const std::regex rectangle(R"(M([\d.]+) ([\d.]+)h([\d.]+)v([\d.]+)h-([\d.]+)z)");
  std::vector<Painted> found;
  for (const Element& path : all(elements, "path")) {
    const std::string d = path.get("d");
    std::size_t read = 0;
    for (std::sregex_iterator it(d.begin(), d.end(), rectangle), none; it != none; ++it) {
      const std::smatch& m = *it;
      CHECK(m[3] == m[5]);
      read += std::size_t(m.length());
      found.push_back({std::stod(m[2]), std::stod(m[1]), std::stod(m[3]), std::stod(m[4]), path.get("fill")});
    }
    CHECK(read == d.size());
  }
  std::sort(found.begin(), found.end());
  return found;
}

}  // namespace

TEST_CASE("outlines are the polygon's rings on the sheet, holes too") {
  const MapView view = view_of({0, 0, 100, 50}, 4);
  const Geometry ring = difference(box_polygon({10, 10, 90, 40}), box_polygon({30, 20, 50, 30}));
  const std::string path = svg_path(ring, view);
  CHECK(std::count(path.begin(), path.end(), 'Z') == 2);
  const std::vector<double> numbers = report_test::numbers_in(path);
  REQUIRE(numbers.size() == 20);
  Box box{1e9, 1e9, -1e9, -1e9};
  for (std::size_t i = 0; i < 10; i += 2) box.grow({numbers[i], numbers[i + 1], numbers[i], numbers[i + 1]});
  CHECK(box.x0 == doctest::Approx(view.left + 40));
  CHECK(box.x1 == doctest::Approx(view.left + 360));
  CHECK(box.y0 == doctest::Approx(view.top + 40));
  CHECK(box.y1 == doctest::Approx(view.top + 160));
  CHECK(svg_path(Geometry(), view).empty());
}

TEST_CASE("painted cells fill the window once, each kind of ground its own share") {
  Grid grid;
  grid.origin_x = 3;
  grid.origin_y = 7;
  for (const int step : {1, 3}) {
    CAPTURE(step);
    SiteCells cells;
    cells.window = {50000, -420000, 50, 31};  // no whole number of steps of 3
    cells.step = step;
    cells.cols = (50 + step - 1) / step;
    cells.rows = (31 + step - 1) / step;
    std::map<std::string, double> wanted;
    const double area = double(step * step) * 100;
    for (int row = 0; row < cells.rows; ++row)
      for (int col = 0; col < cells.cols; ++col) {
        const int kind = (col / 4 + row) % 6;
        const std::uint8_t code = kind == 4 ? map_excluded : kind == 5 ? map_no_score : std::uint8_t(kind);
        cells.codes.push_back(code);
        const double east = std::min((col + 1) * step, 50) - col * step;
        const double south = std::min((row + 1) * step, 31) - row * step;
        wanted[kind == 4   ? "url(#hatch)"
               : kind == 5 ? "url(#dots)"
                           : band_fill(code, 4)] += area * (east / step) * (south / step);
      }
    const Box box = grid.box(cells.window);
    const MapView view = view_of({box.x0 - 20, box.y0 - 20, box.x1 + 20, box.y1 + 20}, 1.37);
    const std::vector<Painted> rects = painted_in(elements_of(svg_cells(cells, grid, view, 4)));

    // Each is painted 0.3 of a pixel larger, so that no light shows between two of them.
    constexpr double more = 0.3, rounding = 0.06;
    double whole = 0;
    std::map<std::string, double> painted;
    std::map<double, double> right;  // by the rectangles' top
    for (const auto& [y, x, w, h, fill] : rects) {
      const double m2 = (w - more) * (h - more) / (1.37 * 1.37);
      whole += m2;
      painted[fill] += m2;
      CHECK(x > view.x(box.x0) - rounding);
      CHECK(y > view.y(box.y1) - rounding);
      CHECK(x + w < view.x(box.x1) + more + rounding);
      CHECK(y + h < view.y(box.y0) + more + rounding);
      const auto before = right.find(y);
      CHECK(x == doctest::Approx(before == right.end() ? view.x(box.x0) : before->second).epsilon(0.001));
      CHECK((before == right.end() || x <= before->second + more));
      right[y] = x + w - more;
    }
    CHECK(whole == doctest::Approx(50 * 31 * 100.0).epsilon(0.001));
    CHECK(painted.size() == 6);
    for (const auto& [fill, m2] : wanted) {
      CAPTURE(fill);
      CHECK(painted[fill] == doctest::Approx(m2).epsilon(0.002));
    }
    for (const auto& [top, end] : right) CHECK(end == doctest::Approx(view.x(box.x1)).epsilon(0.001));
    CHECK(right.size() == std::size_t(cells.rows));
  }
}

TEST_CASE("bands darken from low to high, also as greys") {
  for (const std::size_t bands : {1U, 2U, 4U, 9U}) {
    double last = 1;
    std::set<std::string> fills;
    for (std::size_t i = 0; i < bands; ++i) {
      const std::string fill = band_fill(i, bands);
      REQUIRE(fill.size() == 7);
      const int rgb = std::stoi(fill.substr(1), nullptr, 16);
      // Luma of ITU-R BT.601, the weights of an ordinary conversion to grey.
      const double grey = (0.299 * (rgb >> 16) + 0.587 * ((rgb >> 8) & 255) + 0.114 * (rgb & 255)) / 255;
      CHECK(grey < last);
      last = grey;
      fills.insert(fill);
    }
    CHECK(fills.size() == bands);
  }
}

TEST_CASE("every plot has its mark, where it is, and its name; spares are told apart") {
  const MapView view = view_of({500000, 4200000, 500300, 4200200}, 2);
  const std::vector<Plot> plots = {plot_at(500020, 4200180, "QPR01K"), plot_at(500150.5, 4200100, "QPR02L"),
                                   plot_at(500290, 4200010, "QPR51G", true)};
  const std::vector<Element> elements = elements_of(drawn(plots, view));
  const std::vector<Element> marks = all(elements, "circle");
  const std::vector<Element> names = all(elements, "text", "name");
  REQUIRE(marks.size() == 3);
  REQUIRE(names.size() == 3);
  for (std::size_t i = 0; i < 3; ++i) {
    CHECK(marks[i].number("cx") == doctest::Approx(24 + 2 * (plots[i].east - 500000)).epsilon(0.0001));
    CHECK(marks[i].number("cy") == doctest::Approx(64 + 2 * (4200200 - plots[i].north)).epsilon(0.0001));
    CHECK(marks[i].get("class") == (plots[i].spare ? "spare" : "plot"));
    CHECK(names[i].text == plots[i].name);
  }
  // The plots' outlines, at this scale: of the plot's own ground.
  const std::vector<Element> outlines = all(elements, "path", "unit");
  REQUIRE(outlines.size() == 3);
  const Box belt = plot_polygon(UnitShape::belt, {2, 10}, {500020, 4200180}, 30).box();
  Box box{1e9, 1e9, -1e9, -1e9};
  const std::vector<double> numbers = report_test::numbers_in(outlines[0].get("d"));
  for (std::size_t i = 0; i + 1 < numbers.size(); i += 2)
    box.grow({numbers[i], numbers[i + 1], numbers[i], numbers[i + 1]});
  CHECK(box.x1 - box.x0 == doctest::Approx(2 * (belt.x1 - belt.x0)).epsilon(0.02));
  CHECK(box.y1 - box.y0 == doctest::Approx(2 * (belt.y1 - belt.y0)).epsilon(0.02));
  // Too small to see: the mark alone.
  CHECK(all(elements_of(drawn(plots, view_of(view.ground, 0.5))), "path", "unit").empty());
}

TEST_CASE("names from outside are escaped and read back as they were") {
  const MapView view = view_of({0, 0, 100, 100}, 4);
  const std::string name = R"(A<b>&"c'"]]>)";
  const std::vector<Element> plots = elements_of(drawn({plot_at(50, 50, name)}, view));
  CHECK(all(plots, "text", "name").at(0).text == name);
  const std::vector<Element> legend = elements_of(svg_legend({0.5}, "score of " + name, 10, 20));
  CHECK(all(legend, "text", "head").at(0).text == "score of " + name);
}

TEST_CASE("names of a moderately crowded site overlap no name and no mark, and stay on the sheet") {
  // Pairs 7 m apart, as closely as plots of 2 × 10 m are set without a rule about distance, over a site; 2
  // pixels a metre.
  const MapView view = view_of({500000, 4200000, 500320, 4200260}, 2);
  std::vector<Plot> plots;
  for (int i = 0; i < 40; ++i) {
    const double east = 500004 + 60 * (i / 2 % 5) + (i % 7) * 3, north = 4200006 + 62 * (i / 2 / 5) + i % 5;
    plots.push_back(plot_at(east + (i % 2 == 0 ? 0 : 6), north + (i % 2 == 0 ? 0 : 4),
                            fmt::format("QPR{:02}{}", i + 1, char('A' + i % 23)), i % 3 == 0));
  }
  const std::vector<Element> elements = elements_of(drawn(plots, view));
  const std::vector<Box> names = boxes_of_names(elements);
  REQUIRE(names.size() == plots.size());
  CHECK(overlaps(names) == 0);
  const std::vector<Element> marks = all(elements, "circle");
  REQUIRE(marks.size() == plots.size());
  int on_marks = 0;
  for (const Box& name : names) {
    for (const Element& mark : marks) {
      const double x = mark.number("cx"), y = mark.number("cy");
      on_marks += name.meets({x - 3, y - 3, x + 3, y + 3});
    }
    CHECK(name.x0 >= view.left);
    CHECK(name.x1 <= view.left + view.width());
    CHECK(name.y0 >= view.top - 12);
    CHECK(name.y1 <= view.top + view.height() + 12);
  }
  CHECK(on_marks == 0);
  // Each name is nearer to its own mark than the next name's room, or a line leads back to it.
  const std::size_t leads = all(elements, "path", "lead").size();
  std::size_t far = 0;
  for (std::size_t i = 0; i < names.size(); ++i) {
    const double x = marks[i].number("cx"), y = marks[i].number("cy");
    const double dx = std::max({names[i].x0 - x, 0.0, x - names[i].x1});
    const double dy = std::max({names[i].y0 - y, 0.0, y - names[i].y1});
    far += std::hypot(dx, dy) > 13;
  }
  CHECK(far <= leads);
}

TEST_CASE("where names cannot all be kept apart every plot still has one") {
  std::vector<Plot> plots;
  for (int i = 0; i < 60; ++i)
    plots.push_back(plot_at(500050 + i % 8, 4200050 + i / 8, fmt::format("QPR{:02}K", i)));
  const std::vector<Element> elements =
      elements_of(drawn(plots, view_of({500000, 4200000, 500100, 4200100}, 3)));
  std::set<std::string> names;
  for (const Element& name : all(elements, "text", "name")) names.insert(name.text);
  CHECK(names.size() == 60);
  CHECK(all(elements, "circle").size() == 60);
}

TEST_CASE("names that cannot be read are left out, the spares' first") {
  const MapView view = view_of({500000, 4200000, 500320, 4200260}, 2);
  const auto shown = [&](const std::vector<Plot>& plots) {
    std::vector<const Plot*> pointers;
    for (const Plot& plot : plots) pointers.push_back(&plot);
    return readable_names(pointers, view);
  };
  const auto spread = [](int first, int count, bool spares) {
    std::vector<Plot> plots;
    for (int i = first; i < first + count; ++i)
      plots.push_back(
          plot_at(500010 + (i * 127) % 300, 4200010 + (i * 89) % 240, fmt::format("QPR{:03}K", i), spares));
    return plots;
  };
  CHECK(shown({}) == NamesShown::all);
  CHECK(shown(spread(0, 40, false)) == NamesShown::all);
  CHECK(shown(spread(0, 1000, false)) == NamesShown::none);
  std::vector<Plot> mixed = spread(500, 300, true);
  for (const Plot& plot : spread(0, 60, false)) mixed.push_back(plot);
  CHECK(shown(mixed) == NamesShown::planned);

  std::vector<const Plot*> pointers;
  for (const Plot& plot : mixed) pointers.push_back(&plot);
  const std::string drawing = svg_plots(pointers, {}, view, nullptr, NamesShown::planned);
  CHECK(all(elements_of(drawing), "text", "name").size() == 60);
  CHECK(all(elements_of(drawing), "circle").size() == 360);
  CHECK(all(elements_of(svg_plots(pointers, {}, view, nullptr, NamesShown::none)), "text", "name").empty());
}

TEST_CASE("marks and outlines are clipped to the sheet, names are not") {
  // A site of 4 m, at 100 pixels a metre: a belt of 10 m is longer than the sheet.
  const MapView view = view_of({500000, 4200000, 500006, 4200006}, 100);
  const Plot plot = plot_at(500003, 4200003, "TNY01K");
  const std::string drawing = svg_plots({&plot}, {}, view, nullptr, NamesShown::all, "sheet0");
  const std::size_t begin = drawing.find("<g clip-path=\"url(#sheet0)\">"), end = drawing.find("</g>");
  REQUIRE(begin == 0);
  REQUIRE(end != std::string::npos);
  for (const char* shape : {"class=\"unit\"", "class=\"casing\"", "<circle"}) {
    CHECK(drawing.find(shape) < end);
    CHECK(drawing.rfind(shape) < end);
  }
  CHECK(drawing.find("TNY01K") > end);
}

TEST_CASE("names keep off a verge where there is room beside it") {
  const MapView view = view_of({500000, 4200000, 500300, 4200060}, 3);
  const Geometry verge = box_polygon({500000, 4200028, 500300, 4200032});
  std::vector<Plot> plots;
  for (int i = 0; i < 8; ++i)
    plots.push_back(plot_at(500020 + 35 * i, 4200030, fmt::format("PEL{:02}K", i + 1)));
  std::vector<const Plot*> pointers;
  for (const Plot& plot : plots) pointers.push_back(&plot);
  const std::vector<Box> names = boxes_of_names(elements_of(svg_plots(pointers, {}, view, &verge)));
  REQUIRE(names.size() == 8);
  for (const Box& name : names) CHECK((name.y1 < view.y(4200032) || name.y0 > view.y(4200028)));
}

TEST_CASE("the legend names every band as the tables do, and both kinds of nothing") {
  const std::vector<Element> elements = elements_of(svg_legend({0.25, 0.5, 0.75}, "best", 700, 78));
  std::vector<std::string> texts;
  for (const Element& text : all(elements, "text")) texts.push_back(text.text);
  CHECK(texts == std::vector<std::string>{"best", "0.75–1.00", "0.50–0.75", "0.25–0.50", "0.00–0.25",
                                          "no score", "excluded", "plot", "spare plot"});
  std::vector<std::string> fills;
  for (const Element& box : all(elements, "rect")) fills.push_back(box.get("fill"));
  CHECK(fills == std::vector<std::string>{band_fill(3, 4), band_fill(2, 4), band_fill(1, 4), band_fill(0, 4),
                                          "url(#dots)", "url(#hatch)"});
  // Both patterns are there to be used.
  std::set<std::string> patterns;
  for (const Element& pattern : all(elements_of(svg_definitions()), "pattern"))
    patterns.insert(pattern.get("id"));
  CHECK(patterns == std::set<std::string>{"dots", "hatch"});
}

TEST_CASE("the scale bar is a round length, and right in pixels") {
  // What 150 pixels show: just over and just under each round length, and between.
  for (const double shown : {1.001, 1.99, 2.001, 3.7,  4.99,  5.001, 7.3,   9.99,  11.0,   24.0,
                             31.0,  49.9, 66.0,  98.0, 140.0, 350.0, 490.0, 720.0, 3500.0, 12345.0}) {
    const double pixels_per_m = 150 / shown;
    CAPTURE(pixels_per_m);
    const std::vector<Element> elements = elements_of(svg_scale_and_north(pixels_per_m, 0, 700, 300));
    const std::string label = all(elements, "text").at(0).text;
    REQUIRE(label.size() > 2);
    CHECK(label.substr(label.size() - 2) == " m");
    const double metres = std::stod(label);
    // 1, 2 or 5 times a power of ten, written out: common practice.
    CHECK(label.find('e') == std::string::npos);
    const double lead = metres / std::pow(10, std::floor(std::log10(metres) + 1e-9));
    CHECK(std::min({std::abs(lead - 1), std::abs(lead - 2), std::abs(lead - 5)}) < 1e-9);
    // "M x y v6 h width v-6"
    const std::vector<double> numbers = report_test::numbers_in(all(elements, "path", "line").at(0).get("d"));
    REQUIRE(numbers.size() == 5);
    CHECK(std::abs(numbers[3] - metres * pixels_per_m) < 0.051);
    CHECK(numbers[3] <= 150.1);
    CHECK(numbers[3] >= 59.9);
  }
}

TEST_CASE("the north arrow turns by PROJ's meridian convergence") {
  struct Place {
    const char* crs;
    Point at;
  };
  // East and west of the central meridian, south of the equator, a conformal cone, and an equal-area
  // one, where the ground's angles are not the sheet's.
  for (const Place& place :
       {Place{"EPSG:26914", {761688, 4209803}}, Place{"EPSG:26914", {262000, 4650000}},
        Place{"EPSG:26914", {500000, 4210000}}, Place{"EPSG:26915", {240000, 4210000}},
        Place{"EPSG:32719", {700000, 6000000}}, Place{"EPSG:2154", {250000, 6800000}},
        Place{"EPSG:5070", {761688, 1809803}}, Place{"EPSG:5070", {-2000000, 2700000}}}) {
    CAPTURE(place.crs);
    CAPTURE(place.at.x);
    const Route to_wgs84(Crs::from_text(place.crs), Crs::wgs84());
    const double expected = proj_convergence(place.crs, to_wgs84.forward(place.at));
    const std::vector<Element> elements =
        elements_of(svg_scale_and_north(1, drawn_convergence_deg(place.at, to_wgs84), 700, 300));
    const std::vector<double> turned = report_test::numbers_in(all(elements, "g").at(0).get("transform"));
    REQUIRE(turned.size() == 3);
    // Grid north bears `expected` of true north, so true north lies as far the other way; SVG turns
    // clockwise (SVG 1.1, 7.6).
    CHECK(std::abs(turned[2] + expected) < 0.0055);  // written to 0.01°
    const std::string said = all(elements, "text").at(1).text;
    if (std::abs(expected) < 0.05) continue;
    CHECK(said == fmt::format("true north: {:.1f}° {} of grid north", std::abs(expected),
                              expected < 0 ? "east" : "west"));
  }
}

}  // namespace map_drawing_test
