#include <doctest/doctest.h>

#include "svg.hpp"
#include "swardline/report/chart_text.hpp"
#include "swardline/report/effort_chart.hpp"
#include "swardline/report/interval_chart.hpp"

namespace season_charts_test {

using namespace swardline;
using report_test::all;
using report_test::Element;
using report_test::elements_of;

namespace {

const std::string hostile = "<script>alert('&\"')</script>";

IntervalChart densities() {
  IntervalChart chart;
  chart.id = "found";
  chart.title = "stems";
  chart.message = "most at QPR";
  chart.axis = "stems a hectare";
  chart.first = "sure";
  return chart;
}

IntervalRow row(const std::string& label, double value, double low, double high) {
  return {label, "words", false, IntervalMark{value, low, high, false}, {}};
}

std::vector<Element> marks(const std::vector<Element>& elements) {
  std::vector<Element> found;
  for (const Element& circle : all(elements, "circle"))
    if (circle.number("cy") > 30) found.push_back(circle);  // below the legend
  return found;
}

}  // namespace

TEST_CASE("estimates lie along the axis as their numbers do, over equal steps") {
  IntervalChart chart = densities();
  chart.rows = {row("a", 10, 5, 20), row("b", 20, 15, 30), row("c", 30, 25, 40)};
  const std::vector<Element> dots = marks(elements_of(svg_interval_chart(chart)));
  REQUIRE(dots.size() == 3);
  CHECK(dots[1].number("cx") - dots[0].number("cx") ==
        doctest::Approx(dots[2].number("cx") - dots[1].number("cx")).epsilon(0.001));
}

TEST_CASE("a wide range is drawn by factors, and none found is open at its foot with its upper limit") {
  IntervalChart chart = densities();
  chart.rows = {row("a", 10, 5, 20), row("b", 100, 60, 200), row("c", 1000, 600, 2000)};
  chart.rows.push_back({"d", "none found", false, IntervalMark{0, {}, 100, true}, {}});
  const std::vector<Element> elements = elements_of(svg_interval_chart(chart));
  const std::vector<Element> dots = marks(elements);
  REQUIRE(dots.size() == 4);
  CHECK(dots[1].number("cx") - dots[0].number("cx") ==
        doctest::Approx(dots[2].number("cx") - dots[1].number("cx")).epsilon(0.001));
  CHECK(dots[3].get("class") == "no-mark");
  CHECK(dots[3].number("cx") == doctest::Approx(210));
  // Its bar ends where 100 stands.
  const auto bars = all(elements, "path", "limit open");
  REQUIRE(bars.size() == 1);
  CHECK(report_test::numbers_in(bars[0].get("d")).at(2) ==
        doctest::Approx(dots[1].number("cx")).epsilon(0.001));
}

TEST_CASE("a change has its zero, and below it is left of it") {
  IntervalChart chart = densities();
  chart.signs = true;
  chart.rows = {row("a", -10, -25, 5), row("b", 10, -5, 25)};
  const std::vector<Element> elements = elements_of(svg_interval_chart(chart));
  const double zero = report_test::numbers_in(all(elements, "path", "zero").at(0).get("d")).at(0);
  const std::vector<Element> dots = marks(elements);
  CHECK(dots.at(0).number("cx") < zero);
  CHECK(dots.at(1).number("cx") > zero);
  CHECK(zero - dots[0].number("cx") == doctest::Approx(dots[1].number("cx") - zero).epsilon(0.001));
}

TEST_CASE("nothing but zeros, one value without limits, and no rows at all draw soundly") {
  IntervalChart chart = densities();
  CHECK(svg_interval_chart(chart).empty());
  chart.rows = {{"a", "", false, IntervalMark{0, {}, {}, true}, {}}};
  CHECK(svg_interval_chart(chart).find("nan") == std::string::npos);
  chart.rows = {{"a", "", true, IntervalMark{3, {}, {}, false}, IntervalMark{4, 1.0, 9.0, false}}};
  const std::string svg = svg_interval_chart(chart);
  CHECK(svg.find("nan") == std::string::npos);
  CHECK(all(elements_of(svg), "path", "second-mark").size() == 1);
}

TEST_CASE("text from outside is escaped and cut to its room between characters") {
  IntervalChart chart = densities();
  chart.title = chart.message = chart.axis = hostile;
  chart.rows = {row(hostile, 1, 0.5, 2), row(std::string(300, 'W'), 1, 0.5, 2)};
  const std::string svg = svg_interval_chart(chart);
  CHECK(svg.find("<script") == std::string::npos);
  CHECK(elements_of(svg).size() > 10);
  CHECK(svg.find("WWWWWWWWWWWWWWWWWW") == std::string::npos);
  CHECK(fitted("short", 100) == "short");
  CHECK(fitted("", 10).empty());
  for (double pixels = 0; pixels < 120; pixels += 7) {
    const std::string cut = fitted("Wiesé 🌼 מדבר meadow behind the gate", pixels);
    CHECK((pixels < text_width("…") || text_width(cut) <= pixels));
    CHECK((static_cast<unsigned char>(cut[0]) & 0xC0U) != 0x80U);
    CHECK(elements_of("<t>" + cut + "</t>").front().text == cut);
  }
}

TEST_CASE("bars of effort are as long as their plots") {
  EffortChart chart{"effort", "plots", "counted 8 of 12", "plots", {{"QPR", 6, 2, 4}, {hostile, 2, 0, 0}}};
  const std::string svg = svg_effort_chart(chart);
  CHECK(svg.find("<script") == std::string::npos);
  const std::vector<Element> elements = elements_of(svg);
  const auto done = all(elements, "rect", "done"), lost = all(elements, "rect", "lost"),
             due = all(elements, "rect", "due");
  // The first of each is the legend's.
  REQUIRE(done.size() == 3);
  REQUIRE(lost.size() == 2);
  REQUIRE(due.size() == 2);
  CHECK(done[1].number("width") == doctest::Approx(3 * done[2].number("width")).epsilon(0.01));
  CHECK(lost[1].number("width") == doctest::Approx(done[2].number("width")).epsilon(0.01));
  CHECK(lost[1].number("x") == doctest::Approx(done[1].number("x") + done[1].number("width")).epsilon(0.001));
  CHECK(due[1].number("x") == doctest::Approx(lost[1].number("x") + lost[1].number("width")).epsilon(0.001));
  CHECK(svg_effort_chart({"a", "b", "c", "plots", {}}).empty());
}

}  // namespace season_charts_test
