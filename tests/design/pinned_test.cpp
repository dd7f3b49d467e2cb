// Draws with equal chances, pinned: packets are printed from them, so that no later version may move a plot.
#include <doctest/doctest.h>
#include <fmt/format.h>

#include "cell_frame.hpp"
#include "swardline/base/files.hpp"
#include "swardline/design/drawing.hpp"

namespace pinned_test {

using namespace swardline;

namespace {

std::string print_of(const Frame& frame, const DrawRequest& request) {
  std::string text;
  for (const Pin& pin : draw_stratum(frame, request).pins) {
    text += fmt::format("{:.3f} {:.3f} {} {} {} {}\n", pin.at.x, pin.at.y, pin.col, pin.row, pin.spare,
                        pin.order);
  }
  return text_fingerprint(text);
}

DrawRequest request(int planned, int spares, double apart_m) {
  DrawRequest made;
  made.stratum = "QPR|score=50-75|v1";
  made.seed = 2027;
  made.planned = planned;
  made.spares = spares;
  made.apart_m = apart_m;
  return made;
}

/// An L with a slanting side, over a block edge, whole metres only.
Geometry awkward_ground() {
  return difference(polygon({{2400, 100}, {2700, 130}, {2710, 260}, {2560, 250}, {2550, 420}, {2410, 400}}),
                    box_polygon({2460, 180, 2490, 203}));
}

}  // namespace

TEST_CASE("draws with equal chances are those of the first release") {
  const PolygonFrame awkward(awkward_ground(), Grid{});
  CHECK(print_of(awkward, request(12, 6, 0)) == "b13ce23d86d5915a");
  CHECK(print_of(awkward, request(12, 6, 30)) == "b040fc0b10736abc");
  // So far apart that a lattice takes over.
  CHECK(print_of(awkward, request(30, 5, 45)) == "59cdd0c0a1ab0cb9");
  CHECK(print_of(square_of_cells(-20, 30, 300, 10), request(240, 120, 0)) == "05538b96161f6c5c");
}

}  // namespace pinned_test
