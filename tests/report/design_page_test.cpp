#include "swardline/report/design_page.hpp"

#include <doctest/doctest.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <set>

#include "svg.hpp"
#include "swardline/base/files.hpp"
#include "swardline/report/bar_chart.hpp"
#include "swardline/report/design_sections.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"

namespace design_page_test {

using namespace swardline;
using report_test::all;
using report_test::Element;
using report_test::elements_of;
namespace fs = std::filesystem;

namespace {

const std::string hostile = "<script>alert('&\"')</script>";

StratumCertificate stratum(const std::string& id, std::int64_t mm2, int drawn) {
  StratumCertificate c;
  c.stratum.id = id;
  c.stratum.site = "QPR";
  c.stratum.rule = "score of " + hostile;
  c.stratum.area_mm2 = c.stratum.frame_mm2 = mm2;
  c.stratum.planned = c.stratum.drawn = drawn;
  c.stratum.spares = c.stratum.spares_drawn = drawn / 2;
  c.draw.balance = 0.1234;
  c.draw.balance_of_random = 0.3;
  c.draw.nearest_pair_m = 42.06;
  c.draw.largest_departure = 0.043;
  c.draw.largest_departure_error = 0.007;
  return c;
}

Certificate certificate() {
  Certificate c;
  c.seed = 2027;
  c.season = hostile;
  c.inputs = "09b302a893b7daaf";
  c.unit = "belt, 2 m × 10 m";
  c.unit_area_m2 = 20;
  c.sites = {{"QPR", hostile, 34567.891, 16, 8}};
  c.strata = {stratum("QPR|score=50-75|v1", 34'567'891'234, 12), stratum("QPR|" + hostile, 1'000'005'000, 4)};
  c.routes = c.allocation = c.merged = c.shortfalls = c.methods = {hostile};
  c.closeness.emplace();
  c.closeness->apart_m = 12;
  c.closeness->near_across_strata = {1, 0, {hostile, "QPR02"}, 6.66};
  return c;
}

Flags findings() {
  Flags flags;
  flags.add(Severity::note, "a note", {"plan.toml", 3, ""}, "noted " + hostile);
  flags.add(Severity::ask, "a question", {hostile, 0, ""}, "asked", hostile);
  return flags;
}

class Folder {
 public:
  Folder() : path_(fs::temp_directory_path() / ("swardline-page-" + std::to_string(::getpid()))) {
    fs::create_directories(path_ / "maps");
  }
  ~Folder() {
    std::error_code ignored;
    fs::remove_all(path_, ignored);
  }
  Folder(const Folder&) = delete;
  Folder& operator=(const Folder&) = delete;
  [[nodiscard]] fs::path operator/(const std::string& name) const { return path_ / name; }

 private:
  fs::path path_;
};

std::string without_doctype(const std::string& page) { return page.substr(page.find("<html")); }

bool holds(const std::string& page, const std::string& text) { return page.find(text) != std::string::npos; }

}  // namespace

TEST_CASE("numbers of a page") {
  CHECK(grouped_decimals(1234567.891, 2) == "1,234,567.89");
  CHECK(grouped_decimals(-1234.5, 1) == "−1,234.5");
  CHECK(grouped_decimals(-0.001, 2) == "0.00");
  CHECK(square_metres(34'567'891'234) == "34,567.89");
  CHECK(square_metres(5'000) == "0.01");
  CHECK(square_metres(4'999) == "0.00");
  CHECK(six_figures(0.00034770212) == "0.000347702");
  CHECK(six_figures(12.5) == "12.5000");
  CHECK(six_figures(0) == "0");
  CHECK(percent_text(0.0432) == "4.3 %");
}

TEST_CASE("a page stands alone and is well-formed XML") {
  const Folder folder;
  const std::string page = design_page(certificate(), findings(), {});
  write_whole(folder / "design.html", page);
  CHECK(report_test::well_formed(folder / "design.html"));
  const std::vector<Element> elements = elements_of(without_doctype(page));
  CHECK(all(elements, "script").empty());
  CHECK(all(elements, "iframe").empty());
  CHECK(elements.front().get("lang") == "en");
  // Nothing of it is fetched: links lead within the page, the icon is empty.
  for (const Element& link : all(elements, "a")) CHECK(link.get("href").front() == '#');
  for (const Element& link : all(elements, "link")) CHECK(link.get("href") == "data:,");
  CHECK_FALSE(holds(page, "url("));
  CHECK_FALSE(holds(page, "@import"));
}

TEST_CASE("text from outside is escaped wherever it stands") {
  const std::string page =
      design_page(certificate(), findings(), {{hostile, hostile, 1, 2, hostile, "<svg/>"}});
  CHECK_FALSE(holds(page, "<script"));
  CHECK_FALSE(holds(page, "alert('"));
  CHECK(holds(page, "&lt;script&gt;alert(&apos;&amp;&quot;&apos;)&lt;/script&gt;"));
  const std::vector<Element> elements = elements_of(without_doctype(page));
  CHECK(all(elements, "h1").at(0).text == "Design of " + hostile);
  CHECK(all(elements, "img").size() == 1);
}

TEST_CASE("headings, tables and links of the page fit together") {
  const std::vector<Element> elements =
      elements_of(without_doctype(design_page(certificate(), findings(), {})));
  CHECK(all(elements, "h1").size() == 1);
  std::set<std::string> ids;
  for (const Element& element : elements)
    if (element.attributes.count("id") != 0) CHECK(ids.insert(element.get("id")).second);
  const std::vector<Element> links = all(elements, "a");
  CHECK(links.size() == all(elements, "section").size());
  for (const Element& link : links) CHECK(ids.count(link.get("href").substr(1)) == 1);
  for (const Element& head : all(elements, "th")) CHECK_FALSE(head.get("scope").empty());
  CHECK(all(elements, "table").size() == all(elements, "caption").size());
  CHECK(all(elements, "h2").at(0).text == "What falls short");
  CHECK(all(elements, "section").at(0).get("id") == "short");
}

TEST_CASE("what the page says of a stratum is the certificate's") {
  const std::string page = design_page(certificate(), findings(), {});
  // 12 ÷ 34,567.891234 and its inverse, by hand calculator.
  for (const char* cell :
       {"34,567.89", "0.000347143", "2,880.66", "0.123", "0.300", "0.41", "42.1", "4.3 % ± 0.7 %"})
    CHECK_MESSAGE(holds(page, std::string(">") + cell + "</td>"), cell);
  CHECK(holds(page, "12 ÷ 34,567.89 = 0.000347143"));
  CHECK(holds(page, "20.00 × 0.000347143 = 0.00694286"));
  CHECK(holds(page, "QPR02, 6.7 m"));
}

TEST_CASE("where pins fall on other ground, chances are those of that ground, and the edge rule is told") {
  Certificate c = certificate();
  const std::string before = design_page(c, {}, {});
  CHECK(before.find("Ground for pins") == std::string::npos);
  CHECK(before.find("Rule: walk-through. Estimates: in each stratum, density = sum(count + count twice)") !=
        std::string::npos);
  c.edge = {EdgeRule::grown_frame, {"lost " + hostile}};
  c.strata[0].stratum.frame_mm2 = 36'000'000'000;
  const std::string page = design_page(c, {}, {});
  for (const char* part :
       {"Ground for pins, m²", "36,000.00", "3,000.00", "Rule: grown-frame. Estimates: total ="}) {
    CHECK_MESSAGE(page.find(part) != std::string::npos, part);
  }
  CHECK(page.find(hostile) == std::string::npos);
}

TEST_CASE("errors to expect are shown where the plan gives spreads, and not otherwise") {
  Certificate c = certificate();
  CHECK_FALSE(holds(design_page(c, {}, {}), "id=\"expected\""));
  c.expected = {{"PTUB", 0.2, 0.1834}, {"PDIG", 0.25, std::nullopt}};
  const std::string page = design_page(c, {}, {});
  CHECK(holds(page, ">20.0 %</td><td class=\"number\">18.3 %</td>"));
  CHECK(holds(page, ">25.0 %</td><td class=\"number\">–</td>"));
}

TEST_CASE("what falls short comes first, and nothing short is said too") {
  Certificate fine = certificate();
  CHECK_FALSE(holds(design_page(fine, findings(), {}), "all plots asked for were drawn"));
  fine.shortfalls.clear();
  CHECK(holds(design_page(fine, findings(), {}), "all plots asked for were drawn"));
  for (StratumCertificate& c : fine.strata) c.stratum.drawn = 0;
  CHECK(holds(design_page(fine, findings(), {}), "No stratum gave a plot."));
  CHECK_FALSE(holds(design_page(fine, findings(), {}), "checked by hand"));
}

TEST_CASE("findings that need a person come before notes") {
  const std::string page = design_page(certificate(), findings(), {});
  CHECK(page.find("<li>ASK ") < page.find("<li>NOTE "));
  CHECK_FALSE(holds(design_page(certificate(), {}, {}), "id=\"findings\""));
}

TEST_CASE("small maps are inside the page, large ones linked") {
  const Folder folder;
  Certificate two = certificate();
  two.sites.push_back({"BIG", "Large", 1, 1, 0});
  two.sites.push_back({"NON", "No map", 1, 0, 0});
  write_whole(folder / "maps/QPR.svg", "<svg xmlns=\"http://www.w3.org/2000/svg\"/>");
  write_whole(folder / "maps/BIG.svg", std::string(400'000, ' '));
  write_design_page(two, {}, {folder / "maps/BIG.svg", folder / "maps/QPR.svg"}, folder / "design.html");
  const std::vector<Element> elements = elements_of(without_doctype(read_whole(folder / "design.html")));
  const std::vector<Element> images = all(elements, "img");
  REQUIRE(images.size() == 1);
  CHECK(images[0].get("src").rfind("data:image/svg+xml;base64,", 0) == 0);
  CHECK(holds(images[0].get("alt"), "16 plots, 8 spares"));
  std::vector<std::string> files;
  for (const Element& link : all(elements, "a"))
    if (link.get("href").front() != '#') files.push_back(link.get("href"));
  CHECK(files == std::vector<std::string>{"maps/QPR.svg", "maps/BIG.svg"});
}

TEST_CASE("the chart's bars are as long as its numbers say") {
  const BarChart chart{
      "c", "Shares", "ground", "plots", {{"QPR", 40, 60}, {std::string(60, 'x') + "<", 60, 30}}};
  const std::vector<Element> elements = elements_of(svg_bar_chart(chart));
  std::vector<double> widths;
  for (const Element& bar : all(elements, "rect"))
    if (bar.number("height") == 11) widths.push_back(bar.number("width"));
  REQUIRE(widths.size() == 6);  // two of them the legend's
  CHECK(widths[3] / widths[2] == doctest::Approx(60.0 / 40).epsilon(0.001));
  CHECK(widths[4] / widths[5] == doctest::Approx(60.0 / 30).epsilon(0.001));
  std::vector<std::string> values;
  for (const Element& value : all(elements, "text", "value")) values.push_back(value.text);
  CHECK(values == std::vector<std::string>{"40.0", "60.0", "60.0", "30.0"});
  for (const Element& text : all(elements, "text")) CHECK(text.number("x") >= 0);
}

TEST_CASE("words no paper is wide enough for may be broken, between characters; others stay whole") {
  CHECK(html_cell("a <b> & ordinary words of a name") == "a &lt;b&gt; &amp; ordinary words of a name");
  CHECK(html_cell(std::string(40, 'w')) == std::string(40, 'w'));
  const std::string part(20, 'w');
  CHECK(html_cell("x " + part + part + "end y") == "x " + part + "<wbr/>" + part + "<wbr/>end y");
  std::string bees, shown;
  for (int i = 0; i < 11; ++i) bees += "\U0001f41d";  // four bytes each
  for (int i = 0; i < 11; ++i) shown += std::string(i % 5 == 0 && i > 0 ? "<wbr/>" : "") + "\U0001f41d";
  CHECK(html_cell(bees) == shown);
}

}  // namespace design_page_test
