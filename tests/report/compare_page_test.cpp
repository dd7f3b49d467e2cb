#include "swardline/report/compare_page.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <set>

#include "../compare/made_season.hpp"
#include "svg.hpp"
#include "swardline/base/files.hpp"
#include "swardline/compare/proposal.hpp"
#include "swardline/report/factor_chart.hpp"

namespace compare_page_test {

using namespace swardline;
using report_test::all;
using report_test::Element;
using report_test::elements_of;

namespace {

const std::string hostile = "<script>alert('&\"')</script>";

std::string page_of(const compare_test::Made& made) {
  CompareOptions options;
  options.proposed = {with_class_score(made.season.sheets[0], "cover", "GL", 0.8)};
  return compare_page(made.compare(options), made.season, made.counted);
}

std::vector<Element> elements_of_page(const std::string& page) {
  return elements_of(page.substr(page.find("<html")));
}

FactorChart chart_of(const std::vector<ChartPart>& parts) {
  FactorChart chart;
  chart.id = "moisture";
  chart.title = "stems along moisture";
  chart.axis = "moisture, %";
  chart.upper_words = "10 % of plots are denser";
  chart.parts = parts;
  return chart;
}

}  // namespace

TEST_CASE("the page stands alone, is well-formed XML and the same each time") {
  const auto made = compare_test::story_of_the_glade();
  const std::string page = page_of(*made);
  CHECK(page == page_of(*made));
  write_whole(made->folder / "compare.html", page);
  CHECK(report_test::well_formed(made->folder / "compare.html"));
  const std::vector<Element> elements = elements_of_page(page);
  CHECK(all(elements, "script").empty());
  for (const Element& link : all(elements, "a")) CHECK(link.get("href").front() == '#');
  std::set<std::string> ids;
  for (const Element& element : elements)
    if (element.attributes.count("id") != 0) CHECK(ids.insert(element.get("id")).second);
  CHECK(page.find("nan") == std::string::npos);
  CHECK(page.find("inf\"") == std::string::npos);
}

TEST_CASE("false lows and highs come first, each factor is a row with its sentence, and charts speak") {
  const auto made = compare_test::story_of_the_glade();
  const std::string page = page_of(*made);
  std::size_t at = page.find("<main>");
  for (const char* part :
       {"Read first", "empty good habitat", "False lows: occupied, score below 0.50",
        "3 occupied plots: moisture 1.00 but cover GL 0.30 (score about 0.44)",
        "By the proposed sheet they would score about 0.80; 9 empty plots on GL would rise too",
        "False highs: empty, score 0.75 or more", "Tried: cover GL 0.3 to 0.8", "By score",
        "Along each factor", "moisture (limiting):", "cover (limiting):", "canopy (modifying):",
        "heat (modifying):", "Agreement", "Kept apart", "P060 is set aside"}) {
    CAPTURE(part);
    const std::string text = part == std::string("empty good habitat") ? "Empty good habitat" : part;
    const std::size_t next = page.find(text, at);
    REQUIRE(next != std::string::npos);
    at = next;
  }
  const std::vector<Element> elements = elements_of_page(page);
  std::vector<Element> charts;
  for (const Element& svg : all(elements, "svg"))
    if (svg.attributes.count("role") != 0) charts.push_back(svg);
  CHECK(charts.size() == 5);  // bands and four factors
  CHECK(all(elements, "desc").size() == 5);
  bool glades_said = false;
  for (const Element& desc : all(elements, "desc"))
    glades_said = glades_said || desc.text.find("GL: 3 of 12 plots occupied") != std::string::npos;
  CHECK(glades_said);
}

TEST_CASE("text from outside is escaped") {
  auto made = compare_test::story_of_the_glade();
  made->season.plan.name = made->season.sheets[0].name = hostile;
  made->counted.units[0].name = made->counted.units[0].site = hostile;
  const std::string page = page_of(*made);
  CHECK(page.find("<script") == std::string::npos);
  write_whole(made->folder / "compare.html", page);
  CHECK(report_test::well_formed(made->folder / "compare.html"));
}

TEST_CASE("a chart's points, limits and steps lie where their numbers are") {
  ChartPart low{"20–26", 20, 26, 100, true, 50, 200, 8, 2, not_known, 300},
      high{"30–40", 30, 40, 400, true, 200, 800, 8, 5, not_known, 900};
  FactorChart chart = chart_of({low, high});
  chart.response = {{20, 0}, {26, 1}, {40, 1}};
  const std::vector<Element> elements = elements_of(svg_factor_chart(chart));
  std::vector<Element> dots;
  for (const Element& circle : all(elements, "circle"))
    if (circle.number("cy") > 60) dots.push_back(circle);  // not those of the legend
  REQUIRE(dots.size() == 2);
  CHECK(dots[0].number("cy") > dots[1].number("cy"));  // denser is higher
  // Places along the row in proportion: 23 and 35 of 20 to 40.
  const double x0 = dots[0].number("cx"), x1 = dots[1].number("cx");
  CHECK((x1 - x0) / 12 == doctest::Approx((x0 - 84) / 3).epsilon(0.01));
  for (const Element& text : all(elements, "text")) {
    if (text.attributes.count("x") == 0) continue;
    CHECK(text.number("x") >= 0);
    CHECK(text.number("x") <= 960);
  }
}

TEST_CASE("none found is an open point, limits beyond the scale are arrows, nothing gives no chart") {
  CHECK(svg_factor_chart(chart_of({})).empty());
  const ChartPart none{"a", 0, 1, 0, true, 0, 90000, 3, 0, not_known, 0},
      some{"b", 1, 2, 100, true, 20, 5000, 9, 4, not_known, 200};
  const std::vector<Element> elements = elements_of(svg_factor_chart(chart_of({none, some})));
  int open = 0;
  for (const Element& circle : all(elements, "circle"))
    open += circle.get("fill") == "#fff" && circle.number("cy") > 60 ? 1 : 0;
  CHECK(open == 1);
  int arrows = 0;
  for (const Element& path : all(elements, "path"))
    arrows += path.get("d").find("l5 -7l5 7") != std::string::npos ? 1 : 0;
  CHECK(arrows == 2);
  // One plot alone, without limits, still has its point.
  const ChartPart lone{"a", 5, 5, 10, false, 0, 0, 1, 1, not_known, 10};
  CHECK(all(elements_of(svg_factor_chart(chart_of({lone}))), "circle").size() >= 3);
}

TEST_CASE("a mark far above the means stands at the top with its number") {
  const ChartPart part{"a", 0, 1, 100, true, 50, 150, 9, 4, not_known, 9000};
  const std::vector<Element> elements = elements_of(svg_factor_chart(chart_of({part})));
  int said = 0;
  for (const Element& text : all(elements, "text")) said += text.text == "9,000" ? 1 : 0;
  CHECK(said == 1);
  for (const Element& circle : all(elements, "circle")) {
    if (circle.number("cy") > 60) CHECK(circle.number("cy") < 170);  // the mean is not squeezed to the foot
  }
}

TEST_CASE("long lists of a group are cut on the page and say where the rest is") {
  std::vector<compare_test::MadePlot> plots(60, {.stratum = "a"});
  plots.push_back({.stratum = "a", .stems = 1});
  const auto made = compare_test::made_season(plots, {{"a", 1000}});
  CHECK(page_of(*made).find("And 20 more, in compare-plots.csv.") != std::string::npos);
}

}  // namespace compare_page_test
