// Site sheets: what is on them, how plots are shared out over pages, and text that means harm.
#include "swardline/report/sheet_page.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>

#include <filesystem>
#include <fstream>

#include "../season/season_folder.hpp"
#include "svg.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/magnetic.hpp"
#include "swardline/report/sheet_layout.hpp"
#include "swardline/report/sheet_map.hpp"
#include "swardline/report/square_code.hpp"
#include "swardline/report/text_fit.hpp"

namespace sheet_page_test {

using namespace swardline;

namespace {

/// A walk of so many plots over a square of 400 m in zone 14, near the edge of the zone.
struct Made {
  explicit Made(int planned, int spares = 0, const std::string& words = "") {
    plan.declination.given = true;
    plan.declination.degrees = -1.5;
    plan.declination.source = "illustrative";
    plan.declination.date = "2027-05-28";
    for (int i = 0; i < planned + spares; ++i) {
      Plot plot;
      plot.name = fmt::format("QPR{:02}K{}", i + 1, words);
      plot.site = "QPR";
      plot.walk = i < planned ? i + 1 : 0;
      plot.order = i + 1;
      plot.spare = i >= planned;
      plot.status = plot.spare ? "spare" : "planned";
      plot.east = 761500 + 20.0 * (i % 20);
      plot.north = 4210500 + 37.0 * (i % 11);
      const Point at = to_wgs84.forward({plot.east, plot.north});
      plot.lon = at.x;
      plot.lat = at.y;
      plot.inside_m2 = 20;
      plots.push_back(plot);
    }
    visit.season = "Season" + words;
    visit.version = "2027-03-18 / 3f2a91";
    visit.dates = "20–31 May";
    visit.open_days = "12 open days";
    visit.team = "prairie" + words;
    visit.cautions = {{"the gauge is above 3.1 m" + words, false, true, true},
                      {"Burn, 1 May–10 May: closed." + words, true, true},
                      {"Ticks." + words, false, false}};
    visit.permission = "yes, 1 May–30 Jun" + words;
    visit.contact = "[coordinator writes in]" + words;
    visit.declination = "1.5° W (as typed in: illustrative, 2027-05-28)";
    visit.species = {{"PTUB", "P. tubaeflorus" + words, "20 May–25 Jun", "even white tube" + words,
                      "PDIG: throat swells" + words},
                     {"PDIG", "P. digitalis", "15 May–10 Jul", "swollen throat", ""}};
    visit.not_certain = "PEN?";
  }
  void lay_out() {
    const Declination declination(plan.declination);
    Access reached = access;
    if (parking) reached.start["QPR"] = *parking;
    const SiteWays ways =
        site_ways(reached, &site, box_polygon({761400, 4210400, 762000, 4210950}), "QPR", plots, {});
    walk = site_walk({plan, to_wgs84, declination, nullptr, &slopes}, "QPR", "Quill Prairie" + site_words,
                     plots, {}, ways, {"PTUB", "PDIG"});
    visit.steep = walk.steep();
    sheets = sheets_of(walk, visit);
  }
  [[nodiscard]] std::string page(std::size_t i = 0) const {
    SheetGround ground{plan, to_wgs84, box_polygon({761400, 4210400, 762000, 4210950}), {}, {}, {}, -1.5};
    ground.excluded = {{"water" + site_words, box_polygon({761600, 4210600, 761700, 4210680})}};
    ground.barriers = {{"fence", {{{761400, 4210550}, {762000, 4210560}}}}};
    ground.crossings = {{{761650, 4210555}}};
    return sheet_markup(sheets.at(i), ground, i + 1, sheets.size());
  }
  [[nodiscard]] std::string document() const {
    std::vector<std::string> pages;
    for (std::size_t i = 0; i < sheets.size(); ++i) pages.push_back(page(i));
    return sheets_document("Sheets" + site_words, pages);
  }
  Plan plan;
  Crs crs = Crs::from_text("EPSG:26914");
  Route to_wgs84{crs, Crs::wgs84()};
  std::vector<Plot> plots;
  std::optional<Point> parking = Point{761450, 4210480};
  Access access;
  Site site;
  std::map<std::string, GroundSlope> slopes;
  std::string site_words;
  SheetVisit visit;
  SiteWalk walk;
  std::vector<SiteSheet> sheets;
};

/// The document as another XML reader takes it.
std::vector<report_test::Element> read_back(const std::string& document) {
  const testing::TemporaryFolder folder;
  folder.write("sheet.html", document);
  CHECK(report_test::well_formed(folder.path() / "sheet.html"));
  return report_test::elements_of(document.substr(document.find("<html")));
}

/// Lines joined again.
std::string unbroken(std::string document) {
  for (const std::string mark : {"</bdi><br/><bdi>", "<br/>"})
    for (std::size_t at = 0; (at = document.find(mark, at)) != std::string::npos;)
      document.replace(at, mark.size(), " ");
  return document;
}

}  // namespace

TEST_CASE("Text takes the room that common faces give it") {
  // Adobe Core 14 metrics: H 722, e 556, l 222, o 556; at 10 points of 0.3528 mm.
  CHECK(text_mm("Hello", {10, false}) == doctest::Approx(2.278 * 10 * 25.4 / 72).epsilon(0.02));
  CHECK(text_mm("Hello", {10, true}) > text_mm("Hello", {10, false}));
  CHECK(fitted("short", 50, {7.5, false}) == "short");
  const std::string cut = fitted(std::string(300, 'W'), 20, {7.5, false});
  CHECK(cut.ends_with("\u2026"));
  CHECK(text_mm(cut, {7.5, false}) <= 20);
  CHECK(fitted("a\nb\t c", 50, {7.5, false}) == "a b c");
  // Never half a letter.
  std::string seedlings;
  for (int i = 0; i < 40; ++i) seedlings += "\U0001F331";
  for (double mm = 0; mm < 30; mm += 0.7) CHECK(is_utf8(fitted(seedlings, mm, {7.5, false})));
}

TEST_CASE("Lines break at blanks, and within a word only where it is longer than a line") {
  const Type type{7.5, false};
  const std::string words = "stems between the tape marks are counted into the second box as well";
  std::string again;
  for (const std::string& line : wrapped(words, 30, type)) {
    CHECK(text_mm(line, type) <= 30);
    again += (again.empty() ? "" : " ") + line;
  }
  CHECK(again == words);
  const std::vector<std::string> cut = wrapped(std::string(200, 'x'), 30, type);
  CHECK(cut.size() > 3);
  for (const std::string& line : cut) CHECK(text_mm(line, type) <= 30);
  const std::vector<std::string> two = wrapped(words, 30, type, 2);
  CHECK(two.size() == 2);
  CHECK(two.back().ends_with("\u2026"));
  CHECK(wrapped("", 30, type).empty());
}

TEST_CASE("A sheet shows every plot's place in every notation, and a box for every count") {
  Made made(3, 1);
  made.plots[1].twice_m2 = 6;
  made.plots[1].tape = "end A: edge at 3.8 m, count twice from 1.9 m";
  made.lay_out();
  REQUIRE(made.sheets.size() == 1);
  const std::string document = made.document();
  const auto elements = read_back(document);
  std::size_t boxes = 0;
  for (const auto& element : elements)
    if (element.name == "i" && element.attributes.empty()) ++boxes;
  // Four plots and one count-twice zone, two species and "not certain" each.
  CHECK(boxes == 5 * 3);
  for (const SheetPlot& at : made.walk.plots) {
    CHECK(document.find(at.degrees) != std::string::npos);
    CHECK(document.find(at.minutes) != std::string::npos);
    for (const std::string& square : at.usng) CHECK(document.find(square) != std::string::npos);
  }
  CHECK(document.find("count twice from 1.9 m") != std::string::npos);
  for (const char* words :
       {"STOP IF", "the gauge is above 3.1 m", "Burn, 1 May–10 May", "Never taste any plant",
        "licensed practice", "Contact: [coordinator writes in]", "Set its declination to 0", "WGS84",
        "anything else, stop", "WRITE 0", "PEN?", "all plots done?", "spares used in order?", "visit 1 of 1",
        "20–31 May", "2027-03-18 / 3f2a91", "keep out: water", "magnetic"})
    CHECK_MESSAGE(unbroken(document).find(words) != std::string::npos, std::string(words));
}

TEST_CASE("A bearing stands on the page as worked out") {
  // (38.00412, -96.02184) to (38.00581, -96.01923): true 050.7, magnetic 052.2 at 1.5 W, 296.2 m.
  Made made(2);
  const double places[2][2] = {{38.00412, -96.02184}, {38.00581, -96.01923}};
  for (int i = 0; i < 2; ++i) {
    Plot& plot = made.plots[std::size_t(i)];
    plot.lat = places[i][0];
    plot.lon = places[i][1];
    const Point at = made.to_wgs84.back({plot.lon, plot.lat});
    plot.east = at.x;
    plot.north = at.y;
  }
  made.lay_out();
  const std::string page = made.page();
  for (const char* words : {">296.2<", ">050.7<", ">052.2<", "38.00412 -96.02184", "38 00.247 N 96 01.310 W",
                            "14S QH 61488 10458", "15S TC 34675 10582"})
    CHECK_MESSAGE(page.find(words) != std::string::npos, std::string(words));
}

TEST_CASE("More plots than fit go on loops, and a page is never fuller than it can be") {
  Made made(31, 5);
  made.lay_out();
  REQUIRE(made.sheets.size() > 1);
  std::size_t next = 0;
  for (const SiteSheet& sheet : made.sheets) {
    CHECK(sheet.begin == next);
    next = sheet.end;
    double height = 0;
    for (std::size_t i = sheet.begin; i < sheet.end; ++i)
      height += sheet::plot_height(made.walk.plots[i], made.visit, i == sheet.begin);
    CHECK(height <= sheet::room_for_plots(made.visit));
  }
  CHECK(next == 36);
  const std::string first = made.page(0), last = made.page(made.sheets.size() - 1);
  CHECK(first.find(fmt::format("loop A of {}", made.sheets.size())) != std::string::npos);
  CHECK(last.find("loop A of") == std::string::npos);
  // Long words about edges take lines, and lines take room.
  for (Plot& plot : made.plots) plot.tape = std::string(40, 'e') + " " + std::string(300, 'f');
  const std::size_t before = made.sheets.size();
  made.lay_out();
  CHECK(made.sheets.size() > before);
}

TEST_CASE("A page holds what a day's walk needs, in one row of boxes a plot") {
  Made made(19);
  for (std::size_t species = 1; species <= 14; ++species) {
    made.visit.species.clear();
    for (std::size_t s = 0; s < species; ++s)
      made.visit.species.push_back({fmt::format("PC{:02}", s), "P. calycosus, long-sepal beardtongue",
                                    "10 May–25 Jun", "colour: violet", "PDIG: flower white"});
    made.lay_out();
    REQUIRE(made.walk.two_zones());
    const sheet::FormColumns columns = sheet::form_columns(made.visit);
    CHECK(columns.lines == (species <= 8 ? 1 : 2));
    CHECK(columns.count >= sheet::least_count);
    CHECK(sheet::box_height - sheet::form_line >= 5);
    double width = columns.boxes();
    for (const double mm : columns.before) width += mm;
    for (const double mm : columns.after) width += mm;
    CHECK(width == doctest::Approx(sheet::form_width));
    for (const sheet::SpeciesRow& row : sheet::species_table(made.visit).rows) CHECK(row.lines == 1);
    if (species > 8) continue;
    REQUIRE(made.sheets.size() == 2);
    // 19 plots on two sheets: nine and ten.
    for (const SiteSheet& one : made.sheets) CHECK(one.end - one.begin >= 9);
  }
}

TEST_CASE("Words about an edge stand beside the second grid reference where they fit") {
  Made made(2);
  made.plots[0].tape = "end A: edge at 3.8 m, count twice from 1.9 m";
  made.plots[1].tape = made.plots[0].tape + std::string(90, 'x');
  made.lay_out();
  REQUIRE(made.walk.two_zones());
  const sheet::PlotRow beside = sheet::plot_row(made.walk.plots[0], made.visit, true);
  CHECK(beside.edge_beside);
  CHECK(beside.height() == doctest::Approx(beside.cells_height()));
  const sheet::PlotRow under = sheet::plot_row(made.walk.plots[1], made.visit, false);
  CHECK_FALSE(under.edge_beside);
  CHECK(under.height() > beside.height());
}

TEST_CASE("Where cautions one under the other find no room, they run on") {
  Made made(1);
  made.visit.cautions.clear();
  std::size_t shown = 0;
  for (int i = 0; i < 30; ++i)
    made.visit.cautions.push_back({fmt::format("Caution number {:02}.", i), false, false});
  made.lay_out();
  const std::string page = unbroken(made.page());
  for (const Caution& caution : made.visit.cautions)
    shown += page.find(caution.text) != std::string::npos ? 1U : 0U;
  CHECK(shown > 18);  // there are no more lines than that
}

TEST_CASE("Cautions without room beside the map stand below it, and what finds none is said") {
  Made made(12);
  made.lay_out();
  const double room = sheet::room_for_plots(made.visit);
  CHECK(sheet::lines_below_map(made.visit).empty());
  CHECK(cautions_left_out(made.visit).empty());
  for (int i = 0; i < 12; ++i)
    made.visit.cautions.push_back(
        {fmt::format("Number {:02} is a caution of this site that is as long as they are.", i), false, true});
  made.visit.cautions.push_back({std::string(250, 'w'), false, false});  // without a place to break it
  made.lay_out();
  std::string page = unbroken(made.page());
  for (const Caution& caution : made.visit.cautions)
    if (caution.text.size() < 250) CHECK_MESSAGE(page.find(caution.text) != std::string::npos, caution.text);
  CHECK(std::count(page.begin(), page.end(), 'w') >= 250);
  CHECK(cautions_left_out(made.visit).empty());
  const auto lines = double(sheet::lines_below_map(made.visit).size());
  CHECK(lines >= 2);
  CHECK(sheet::room_for_plots(made.visit) == doctest::Approx(room - lines * sheet::line - sheet::gap));
  // More than any page holds: the coordinator is told which.
  made.visit.cautions.push_back({std::string(3000, 'm'), false, false});
  made.visit.cautions.push_back({"Short and last.", false, false});
  made.lay_out();
  CHECK(cautions_left_out(made.visit) == std::vector<std::string>{std::string(3000, 'm')});
  page = unbroken(made.page());
  CHECK(page.find("1 more caution found no room here: ask the coordinator.") != std::string::npos);
  CHECK(page.find("Short and last.") != std::string::npos);
}

TEST_CASE("A sheet's number is a square code where it is short enough for one") {
  // Version 1 of ISO/IEC 18004 has 21 modules a side and 20 capitals or 14 bytes at correction M; four light
  // ones stand about.
  CHECK(square_code("QPR-1A-3F2A91").find("viewBox=\"0 0 29 29\"") != std::string::npos);
  CHECK(square_code("qpr-1a-3f2a912345").find("viewBox=\"0 0 33 33\"") != std::string::npos);
  CHECK(square_code("").empty());
  CHECK(square_code(std::string(61, 'x')).empty());
  CHECK(square_code("<b>&\"").find("square code: &lt;b&gt;&amp;&quot;") != std::string::npos);
  Made made(40);
  made.lay_out();
  REQUIRE(made.sheets.size() > 1);
  CHECK(made.sheets[0].id() == "QPR-1A-3F2A91");
  CHECK(made.sheets[1].id() == "QPR-1B-3F2A91");
  CHECK(made.page(1).find("square code: QPR-1B-3F2A91") != std::string::npos);
  Made one(1);
  one.lay_out();
  CHECK(one.sheets.at(0).id() == "QPR-1-3F2A91");
}

TEST_CASE("A loop's map shows its plots large and the others small") {
  Made made(40);
  made.lay_out();
  REQUIRE(made.sheets.size() > 1);
  const auto elements = report_test::elements_of(made.page(1));
  const SiteSheet& sheet = made.sheets[1];
  CHECK(report_test::all(elements, "text", "order").size() == sheet.end - sheet.begin);
  CHECK_FALSE(report_test::all(elements, "circle", "other").empty());
}

TEST_CASE("A loop begins at the parking, and its map shows where in the site it lies") {
  Made made(40);
  made.lay_out();
  REQUIRE(made.sheets.size() > 1);
  int insets = 0;
  for (std::size_t s = 0; s < made.sheets.size(); ++s) {
    const SiteSheet& sheet = made.sheets[s];
    const SheetPlot& first = made.walk.plots[sheet.begin];
    const sheet::PlotRow row = sheet::plot_row(first, made.visit, true);
    CHECK(row.cells[sheet::metres].front() == fmt::format("{:.1f}", first.from_start.metres));
    const std::string page = made.page(s);
    CHECK(page.find(fmt::format("{:.1f}", first.from_start.metres)) != std::string::npos);
    const auto elements = report_test::elements_of(page);
    // It covers no plot of the loop; a map that shows all of the site needs none.
    const SheetGround ground{
        made.plan, made.to_wgs84, box_polygon({761400, 4210400, 762000, 4210950}), {}, {}, {}, {}};
    const SheetView view = sheet_view(sheet, ground);
    const bool all = view.ground.x0 <= 761400 && view.ground.y0 <= 4210400 && view.ground.x1 >= 762000 &&
                     view.ground.y1 >= 4210950;
    CHECK(report_test::all(elements, "rect", "inset").size() == (all ? 0 : 1));
    CHECK(report_test::all(elements, "rect", "loop").size() == (all ? 0 : 1));
    CHECK(view.inset.has_value() == !all);
    insets += all ? 0 : 1;
    if (all) continue;
    for (std::size_t i = sheet.begin; i < sheet.end; ++i) {
      const Plot& plot = *made.walk.plots[i].plot;
      const double x = view.x(plot.east), y = view.y(plot.north);
      CHECK_FALSE(view.inset->meets({x, y, x, y}));
      CHECK(x > view.left);
      CHECK(x < view.left + view.width());
    }
  }
  CHECK(insets > 0);
  Made one(3);
  one.lay_out();
  REQUIRE(one.sheets.size() == 1);
  CHECK(report_test::all(report_test::elements_of(one.page()), "rect", "inset").empty());
}

TEST_CASE("A way that bends stands under its row and on the map; where there is none that is said") {
  Made made(4);
  for (std::size_t i = 0; i < 4; ++i) {
    made.plots[i].east = 761500 + 100.0 * double(i / 2);
    made.plots[i].north = 4210500 + 30.0 * double(i % 2);
    const Point at = made.to_wgs84.forward({made.plots[i].east, made.plots[i].north});
    made.plots[i].lon = at.x;
    made.plots[i].lat = at.y;
  }
  made.site.drawn = box_polygon({761400, 4210400, 762000, 4210950});
  made.site.keep_out = {{"cliff", box_polygon({761540, 4210480, 761560, 4210800})}};
  made.lay_out();
  REQUIRE(made.sheets.size() == 1);
  const SheetLeg& leg = made.walk.plots[2].leg;
  REQUIRE(leg.stages.size() > 1);
  const sheet::PlotRow row = sheet::plot_row(made.walk.plots[2], made.visit, false);
  CHECK(row.cells[sheet::metres].front().ends_with("*"));
  CHECK(row.cells[sheet::to_magnetic].front() == "way");
  CHECK(row.cells[sheet::to_true].front() == "-");
  CHECK(row.way_height() > 0);
  REQUIRE_FALSE(row.way.empty());
  std::string words;
  for (const std::string& line : row.way) words += line + " ";
  CHECK(words.starts_with("WAY past ground to keep out of (cliff), well off its edge: M "));
  for (const SheetStage& stage : leg.stages)
    CHECK(words.find(fmt::format("{} {:.1f} m", bearing_text(*stage.magnetic), stage.metres)) !=
          std::string::npos);
  // The map's line is that way: it turns where the way turns.
  const std::string page = made.page();
  const SheetGround ground{
      made.plan, made.to_wgs84, box_polygon({761400, 4210400, 762000, 4210950}), {}, {}, {}, {}};
  const SheetView view = sheet_view(made.sheets[0], ground);
  const std::string walk_path =
      report_test::all(report_test::elements_of(page), "path", "walk").at(0).attributes.at("d");
  for (const Point& at : leg.line)
    CHECK(walk_path.find(fmt::format("{:.1f} {:.1f}", view.x(at.x), view.y(at.y))) != std::string::npos);
  (void)read_back(made.document());

  made.access.barriers = {
      {"fence (access.gpkg, feature 2)", {{{761550, 4200000}, {761550, 4220000}}}, "fence"}};
  made.site.keep_out.clear();
  made.lay_out();
  const sheet::PlotRow none = sheet::plot_row(made.walk.plots[2], made.visit, false);
  CHECK(none.cells[sheet::metres].front() == "-!");
  REQUIRE_FALSE(none.way.empty());
  CHECK(none.way.front().starts_with("NO WAY: fence lies between"));
  const sheet::PlotRow beyond = sheet::plot_row(made.walk.plots[3], made.visit, false);
  CHECK(beyond.cells[sheet::metres].front() == "30.0!");
  CHECK(beyond.way.empty());
  CHECK(made.page().find("NO WAY") != std::string::npos);
}

TEST_CASE("On steep ground a sheet gives the tape along the ground, and says how") {
  Made made(2);
  made.plan.sample.shape = UnitShape::belt;
  made.plan.sample.size_m = {2, 10};
  made.slopes = {{made.plots[0].name, {30, 0}}};
  made.lay_out();
  CHECK(sheet::plot_row(made.walk.plots[0], made.visit, true).cells[sheet::tape] ==
        std::vector<std::string>{"10.0", "11.5"});
  CHECK(sheet::plot_row(made.walk.plots[1], made.visit, false).cells[sheet::tape].size() == 1);
  const std::string page = unbroken(made.page());
  // Level metres over the cosine, to 0.1 m: 10 / cos 20 = 10.64, 10 / cos 40 = 13.05.
  for (const char* words : {"SLOPE", "20\u00B0 10.6", "40\u00B0 13.1", "write unsafe"})
    CHECK_MESSAGE(page.find(words) != std::string::npos, std::string(words));
  made.slopes.clear();
  made.lay_out();
  CHECK(made.page().find("SLOPE") == std::string::npos);
}

TEST_CASE("Ticks lie where the notation is round") {
  Made made(3);
  made.lay_out();
  const SheetGround ground{
      made.plan, made.to_wgs84, box_polygon({761400, 4210400, 762000, 4210950}), {}, {}, {}, {}};
  const SheetView view = sheet_view(made.sheets[0], ground);
  const FrameTicks ticks = frame_ticks(view, made.to_wgs84, "utm");
  REQUIRE(ticks.bottom.size() >= 2);
  // The plan's plane is UTM zone 14: a tick's place in it is its number.
  for (const FrameTick& tick : ticks.bottom)
    CHECK(view.ground_at(tick.at, 0).x == doctest::Approx(std::stod(tick.text)).epsilon(1e-7));
  for (const FrameTick& tick : ticks.left)
    CHECK(view.ground_at(0, tick.at).y == doctest::Approx(std::stod(tick.text)).epsilon(1e-8));
  const FrameTicks national = frame_ticks(view, made.to_wgs84, "usng");
  CHECK(national.says.find("14S QH") != std::string::npos);
  CHECK(national.bottom.front().text == ticks.bottom.front().text.substr(1));
  const FrameTicks minutes = frame_ticks(view, made.to_wgs84, "degrees");
  REQUIRE_FALSE(minutes.left.empty());
  for (const FrameTick& tick : minutes.left) {
    const Point at = made.to_wgs84.forward(view.ground_at(view.left, tick.at));
    const double degrees = std::stod(tick.text.substr(0, 2)) + std::stod(tick.text.substr(3)) / 60;
    CHECK(at.y == doctest::Approx(degrees).epsilon(1e-7));
  }
}

TEST_CASE("Whatever a user writes stays text") {
  for (const std::string& words :
       {std::string("<script>alert(1)</script>\"'&"), std::string("\u202Eright to left\u200F"),
        std::string(300, 'W'), std::string("\U0001F33C\U0001F331"), std::string("a\nb\x01")}) {
    Made made(3, 1, words);
    made.site_words = words;
    made.lay_out();
    const std::string document = made.document();
    CHECK(document.find("<script") == std::string::npos);
    const auto elements = read_back(document);
    CHECK(report_test::all(elements, "section", "sheet").size() == made.sheets.size());
  }
}

TEST_CASE("A document of sheets is known as such, another page is not") {
  Made made(1);
  made.lay_out();
  CHECK(is_sheets_document(made.document()));
  CHECK_FALSE(
      is_sheets_document("<!DOCTYPE html><html><head><title>swardline site sheets</title></head></html>"));
}

TEST_CASE("A site without plots, parking or species still gives a page") {
  Made made(0);
  made.visit.species.clear();
  made.visit.cautions.clear();
  made.visit.declination.clear();
  made.lay_out();
  REQUIRE(made.sheets.size() == 1);
  (void)read_back(made.document());
}

}  // namespace sheet_page_test
