#include "swardline/report/map_cells.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <map>

#include "../design/small_season.hpp"

namespace map_cells_test {

using namespace swardline;

namespace {

constexpr int side = 160;

/// Layers whose neighbouring cells differ, and two species that exclude different ground: PDIG (0.40
/// everywhere) open water, PTUB (moisture) open water and glades.
class Patchwork {
 public:
  explicit Patchwork(const std::string& score_of) {
    Plan& plan = small.season.plan;
    plan.strata.score_of = score_of;
    plan.strata.bands = {0.2, 0.4, 0.7};
    const Point corner{SmallSeason::west, SmallSeason::north};
    make_raster(plan.folder / "moisture.tif", plan.crs, corner, 10, side, side, moisture);
    make_raster(plan.folder / "cover.tif", plan.crs, corner, 10, side, side, cover);
    std::get<ClassTable>(small.season.sheets[1].factors[1].response).excluded = {"OW", "GL"};
    std::get<ClassTable>(small.season.sheets[1].factors[1].response).scores = {{"WM", 1.0}};
    layers = Layers::open(plan, small.crs(), layers_needed(small.season), small.flags);
    model = Model::compile(small.season, *layers, small.flags);
  }
  static int moisture(int col, int row) {
    const int value = (col * 37 + row * 59) % 112;
    return value > 100 ? 255 : value;
  }
  static int cover(int col, int row) { return 1 + (col / 3 + row / 2) % 3; }

  /// What the strata's definitions say of a cell, from the rasters alone: whole percents, the mean rounded
  /// half up, [low, high) bands; excluded only where every species excludes.
  [[nodiscard]] std::uint8_t expected(int col, int row) const {
    const std::string& of = small.season.plan.strata.score_of;
    const int m = moisture(col, row), c = cover(col, row);
    if (c == 3) return map_excluded;
    const bool tub = c == 1 && m != 255, dig = m != 255;
    int percent = 0;
    if (of == "PTUB" ? !tub : !dig) return map_no_score;
    if (of == "best") percent = tub ? std::max(m, 40) : 40;
    if (of == "mean") percent = tub ? (40 + m + 1) / 2 : 40;
    if (of == "PTUB") percent = m;
    return percent < 20 ? 0 : percent < 40 ? 1 : percent < 70 ? 2 : 3;
  }
  [[nodiscard]] SiteCells read(const Window& window, int most_cells) const {
    return MapCellReader(small.season, *layers, *model).read(window, most_cells);
  }
  [[nodiscard]] Window whole() const { return layers->extent(); }

  SmallSeason small;
  std::optional<Layers> layers;
  std::optional<Model> model;
};

}  // namespace

TEST_CASE("a map's cells are the bands of the scores, for the best, the mean and one species") {
  for (const std::string score_of : {"best", "mean", "PTUB"}) {
    CAPTURE(score_of);
    const Patchwork made(score_of);
    const SiteCells cells = made.read(made.whole(), side * side);
    REQUIRE(cells.step == 1);
    REQUIRE(cells.cols == side);
    REQUIRE(cells.rows == side);
    std::map<int, int> met;
    int wrong = 0;
    for (int row = 0; row < side; ++row)
      for (int col = 0; col < side; ++col) {
        const std::uint8_t code = cells.codes[std::size_t(row * side + col)];
        ++met[code];
        wrong += code != made.expected(col, row);
      }
    CHECK(wrong == 0);
    // Every kind of ground was there to be told apart. The best is never under PDIG's 0.40, the mean never
    // under half of it.
    CHECK(met.size() == (score_of == "best" ? 4 : score_of == "mean" ? 5 : 6));
    CHECK(met.count(map_excluded) == 1);
    CHECK(met.count(map_no_score) == 1);
  }
}

TEST_CASE("a thinned map has no more cells than asked for, each as its middle cell is") {
  const Patchwork made("best");
  for (const int most : {6000, 4000, 700, 1}) {
    CAPTURE(most);
    const Window window{made.whole().col + 3, made.whole().row + 5, 150, 101};
    const SiteCells cells = made.read(window, most);
    CHECK(cells.step > 1);
    REQUIRE(cells.codes.size() == std::size_t(cells.cols) * std::size_t(cells.rows));
    CHECK(cells.codes.size() <= std::size_t(most));
    // No cell of the window is left out, and no row or column of codes stands for none.
    CHECK(cells.cols * cells.step >= window.cols);
    CHECK((cells.cols - 1) * cells.step < window.cols);
    CHECK(cells.rows * cells.step >= window.rows);
    CHECK((cells.rows - 1) * cells.step < window.rows);
    int wrong = 0;
    for (int row = 0; row < cells.rows; ++row)
      for (int col = 0; col < cells.cols; ++col) {
        const int from_col = 3 + std::min(col * cells.step + cells.step / 2, window.cols - 1);
        const int from_row = 5 + std::min(row * cells.step + cells.step / 2, window.rows - 1);
        wrong += cells.codes[std::size_t(row * cells.cols + col)] != made.expected(from_col, from_row);
      }
    CHECK(wrong == 0);
  }
}

TEST_CASE("one reader gives every window what a reader of its own would") {
  const Patchwork made("mean");
  MapCellReader reader(made.small.season, *made.layers, *made.model);
  const Window all = made.whole();
  for (const Window& window :
       {Window{all.col, all.row, 160, 160}, Window{all.col + 150, all.row + 150, 30, 9},
        Window{all.col + 7, all.row + 90, 1, 1}, all}) {
    const SiteCells shared = reader.read(window, 5000), own = made.read(window, 5000);
    CHECK(shared.step == own.step);
    CHECK(shared.codes == own.codes);
  }
}

TEST_CASE("the map shows the ground the strata were made of") {
  for (const std::string score_of : {"best", "mean", "PTUB"}) {
    CAPTURE(score_of);
    Patchwork made(score_of);
    SmallSeason& s = made.small;
    s.season.plan.strata.smallest_m2 = 0;
    s.add_site("QPR", rectangle(760100, 4209500, 761500, 4210900));  // on the edges of cells
    const SeasonStrata strata = s.strata();
    std::map<std::string, double> of_strata;
    for (const Stratum& stratum : strata.strata()) of_strata[stratum.id] += stratum.area_m2();

    const SiteCells cells = made.read(s.layers->grid().covering(s.site("QPR").survey.box()), 1000000);
    REQUIRE(cells.step == 1);
    const std::vector<std::string> bands = {"score=0-20", "score=20-40", "score=40-70", "score=70-100"};
    std::map<std::string, double> of_map;
    for (const std::uint8_t code : cells.codes)
      of_map["QPR|" +
             (code == map_excluded   ? "excluded"
              : code == map_no_score ? "no-score"
                                     : bands.at(code)) +
             "|v1"] += 100;
    CHECK(of_map.size() == of_strata.size());
    for (const auto& [id, area] : of_strata) {
      CAPTURE(id);
      CHECK(of_map[id] == doctest::Approx(area).epsilon(1e-9));
    }
  }
}

TEST_CASE("ground no layer reaches and a season without scored species have no score") {
  Patchwork made("best");
  const Window all = made.whole();
  const SiteCells beyond = made.read({all.col + side + 10, all.row, 5, 5}, 100);
  CHECK(std::count(beyond.codes.begin(), beyond.codes.end(), map_no_score) == 25);

  for (Sheet& sheet : made.small.season.sheets) {
    sheet.scored = false;
    sheet.factors.clear();
  }
  made.model = Model::compile(made.small.season, *made.layers, made.small.flags);
  REQUIRE(made.model->species().empty());
  const SiteCells cells = made.read({all.col, all.row, 10, 10}, 1000);
  CHECK(std::count(cells.codes.begin(), cells.codes.end(), map_no_score) == 100);
}

}  // namespace map_cells_test
