// Scores one cell and draws one site through the installed library.
#include <cstdio>
#include <swardline/design/drawing.hpp>
#include <swardline/habitat/rule.hpp>

int main() {
  swardline::Sheet sheet;
  sheet.factors.push_back(
      {"moisture", swardline::Role::limiting, 1, swardline::Trapezoid{20, 26, 38, 46}, "", "", {}});
  const auto cell = swardline::score_cell(sheet, [](const std::string&) {
    return swardline::LayerValue{23.0, "", false};
  });
  const swardline::PolygonFrame site(swardline::polygon({{0, 0}, {100, 0}, {100, 100}, {0, 100}}),
                                     {0, 0, 10});
  const auto draw =
      swardline::draw_stratum(site, {.stratum = "SITE|v1", .seed = 2027, .planned = 6, .spares = 3});
  std::printf("score %.2f, %zu pins in %.0f m2\n", cell.score, draw.pins.size(),
              double(draw.area_mm2) * 1e-6);
  return cell.score == 0.5 && draw.pins.size() == 9 ? 0 : 1;
}
