#include "swardline/report/site_map.hpp"

#include <doctest/doctest.h>
#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>
#include <set>

#include "../design/small_season.hpp"
#include "svg.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/report/map_cells.hpp"

namespace site_map_test {

using namespace swardline;
using report_test::all;
using report_test::Element;
using report_test::elements_of;
namespace fs = std::filesystem;

namespace {

/// A drawn season of three sites: one with a pond of excluded cover and a cut, one plain, one a long verge.
class Drawn {
 public:
  Drawn() {
    small.season.plan.name = "Counts & <surveys> 2027";
    small.add_site("QPR", rectangle(760403, 4210107, 760817, 4210411));
    small.add_site("SKP", rectangle(761003, 4209607, 761203, 4209807));
    small.add_site("PEL", rectangle(760005, 4210801, 761595, 4210805));
    small.exclude("water & <mud>", rectangle(760450, 4210300, 760500, 4210350));
    plots = small.draw().plots;
    for (std::size_t i = 0; i < plots.size(); ++i) plots[i].name = fmt::format("{}{:02}&", plots[i].site, i);
    small.sites->sites[site("QPR")].name = R"(Quill <"Prairie"> & 'more')";
  }
  [[nodiscard]] std::size_t site(const std::string& code) const {
    return std::size_t(&small.site(code) - small.sites->sites.data());
  }
  [[nodiscard]] std::vector<fs::path> write(const fs::path& folder) const {
    return write_site_maps(small.season, small.crs(), *small.sites, *small.layers, *small.model, plots,
                           folder);
  }
  [[nodiscard]] fs::path folder() const { return small.season.plan.folder / "maps"; }

  SmallSeason small;
  std::vector<Plot> plots;
};

/// The same season, drawn with the sites' cells taken for the maps.
SeasonDraw drawn_with_cells(const Drawn& drawn, int most) {
  Flags flags;
  DrawOptions options;
  options.map_cells = most;
  return draw_season(drawn.small.season, drawn.small.crs(), *drawn.small.sites, *drawn.small.layers,
                     *drawn.small.model, drawn.small.access, options, flags);
}

std::vector<std::string> texts_of(const std::vector<fs::path>& files) {
  std::vector<std::string> texts;
  for (const fs::path& file : files) texts.push_back(read_whole(file));
  return texts;
}

std::set<std::string> names_in(const fs::path& folder) {
  std::set<std::string> names;
  for (const auto& entry : fs::directory_iterator(folder)) names.insert(entry.path().filename().string());
  return names;
}

/// Runs `action` as a user without root's right to write anywhere, where root runs the test.
template <class Action>
void as_nobody(const Action& action) {
  const bool root = ::geteuid() == 0;
  if (root) REQUIRE(::seteuid(65534) == 0);
  action();
  if (root) REQUIRE(::seteuid(0) == 0);
}

Box box_of_path(const Element& path) {
  const std::vector<double> numbers = report_test::numbers_in(path.get("d"));
  Box box{numbers.at(0), numbers.at(1), numbers.at(0), numbers.at(1)};
  for (std::size_t i = 0; i + 1 < numbers.size(); i += 2)
    box.grow({numbers[i], numbers[i + 1], numbers[i], numbers[i + 1]});
  return box;
}

/// Marks of plots, without the two of the legend.
std::vector<Element> marks_of(const std::vector<Element>& elements) {
  std::vector<Element> marks = all(elements, "circle");
  marks.erase(std::remove_if(marks.begin(), marks.end(),
                             [](const Element& mark) { return !mark.attributes.count("class"); }),
              marks.end());
  REQUIRE(marks.size() >= 2);
  marks.resize(marks.size() - 2);
  return marks;
}

}  // namespace

TEST_CASE("maps of cells that the draw took are those of cells that are read") {
  const Drawn drawn;
  SeasonDraw with = drawn_with_cells(drawn, map_cells);
  REQUIRE(with.site_cells.size() == 3);
  const auto maps = [&] {
    return texts_of(write_site_maps(drawn.small.season, drawn.small.crs(), *drawn.small.sites,
                                    *drawn.small.layers, *drawn.small.model, drawn.plots, drawn.folder(), {},
                                    2, with.site_cells));
  };
  CHECK(maps() == texts_of(drawn.write(drawn.folder())));
  // And they are used: other cells make another map. The verge is drawn in parts, whose cells are read.
  const std::size_t prairie = drawn.site("QPR");
  for (std::uint8_t& code : with.site_cells[prairie].codes) code = map_excluded;
  CHECK(maps() != texts_of(drawn.write(drawn.folder())));
}

TEST_CASE("what comes first and fails leaves the maps of an earlier draw, and no parts") {
  Drawn drawn;
  const std::vector<fs::path> files = drawn.write(drawn.folder());
  const std::vector<std::string> before = texts_of(files);
  drawn.plots.pop_back();
  const auto fail = [] { throw IoError({}, "the store is full", ""); };
  CHECK_THROWS_AS(
      (void)write_site_maps(drawn.small.season, drawn.small.crs(), *drawn.small.sites, *drawn.small.layers,
                            *drawn.small.model, drawn.plots, drawn.folder(), {}, 2, {}, fail),
      IoError);
  CHECK(texts_of(files) == before);
  CHECK(std::distance(fs::directory_iterator(drawn.folder()), {}) == std::ssize(files));
}

TEST_CASE("cells that the draw takes are thinned like those that are read") {
  const Drawn drawn;
  for (const int most : {1, 7, 50, 400, 5000}) {
    CAPTURE(most);
    const SeasonDraw with = drawn_with_cells(drawn, most);
    MapCellReader reader(drawn.small.season, *drawn.small.layers, *drawn.small.model);
    int compared = 0;
    for (const SiteCells& taken : with.site_cells) {
      const SiteCells read = reader.read(taken.window, most);
      REQUIRE(taken.step == read.step);
      REQUIRE(taken.codes.size() == read.codes.size());
      CHECK(std::ssize(taken.codes) <= most);
      for (std::size_t i = 0; i < read.codes.size(); ++i) {
        if (taken.codes[i] == map_nothing) continue;
        ++compared;
        CHECK(taken.codes[i] == read.codes[i]);
      }
    }
    CHECK(compared > 0);
  }
}

TEST_CASE("where the score alone does not make the strata, the draw takes no cells") {
  Drawn drawn;
  drawn.small.season.plan.strata.by = {"site"};
  const SeasonDraw with = drawn_with_cells(drawn, map_cells);
  CHECK(with.site_cells.empty());
}

TEST_CASE("a map for every site with ground to survey, well-formed, with every plot on its place") {
  const Drawn made;
  const std::vector<fs::path> written = made.write(made.folder());
  REQUIRE(written.size() == 3);
  CHECK(names_in(made.folder()) == std::set<std::string>{"PEL.svg", "QPR.svg", "SKP.svg"});
  for (const fs::path& path : written) {
    CAPTURE(path.string());
    CHECK(report_test::well_formed(path));
    const std::vector<Element> elements = elements_of(read_whole(path));
    const std::string code = path.stem().string();
    std::set<std::string> wanted, named;
    std::size_t spares = 0;
    for (const Plot& plot : made.plots) {
      if (plot.site != code) continue;
      wanted.insert(plot.name);
      spares += plot.spare;
    }
    const std::vector<Element> names = all(elements, "text", "name");
    for (const Element& name : names) named.insert(name.text);
    CHECK(wanted.size() >= 9);
    CHECK(named == wanted);
    CHECK(names.size() == wanted.size());
    const std::vector<Element> marks = marks_of(elements);
    CHECK(marks.size() == wanted.size());
    CHECK(std::size_t(std::count_if(marks.begin(), marks.end(), [](const Element& mark) {
            return mark.get("class") == "spare";
          })) == spares);
    // No two names are laid over each other on these maps.
    for (std::size_t i = 0; i < names.size(); ++i)
      for (std::size_t j = 0; j < i; ++j)
        CHECK_FALSE(report_test::box_of_name(names[i]).meets(report_test::box_of_name(names[j])));
    // Everything is on the sheet, and no id is given twice.
    const double width = elements.at(0).number("width"), height = elements.at(0).number("height");
    CHECK(elements[0].get("viewBox") == fmt::format("0 0 {:.0f} {:.0f}", width, height));
    std::set<std::string> ids;
    for (const Element& element : elements) {
      if (element.attributes.count("id")) CHECK(ids.insert(element.get("id")).second);
      if (element.name != "text") continue;
      CHECK(element.number("x") >= 0);
      CHECK(element.number("x") < width);
      CHECK(element.number("y") > 0);
      CHECK(element.number("y") < height);
    }
  }
}

TEST_CASE("marks stand in the site's outline as the plots stand in the site") {
  const Drawn made;
  (void)made.write(made.folder());
  for (const std::string code : {"QPR", "SKP"}) {
    const std::vector<Element> elements = elements_of(read_whole(made.folder() / (code + ".svg")));
    // The outline of the survey area gives the scale and place of the picture.
    const Box outline = box_of_path(all(elements, "path", "line").at(0));
    const Box ground = made.small.site(code).survey.box();
    const double scale = (outline.x1 - outline.x0) / (ground.x1 - ground.x0);
    const std::vector<Element> marks = marks_of(elements);
    std::size_t i = 0;
    for (const Plot& plot : made.plots) {
      if (plot.site != code) continue;
      REQUIRE(i < marks.size());
      CHECK(std::abs(marks[i].number("cx") - outline.x0 - scale * (plot.east - ground.x0)) < 0.2);
      CHECK(std::abs(marks[i].number("cy") - outline.y0 - scale * (ground.y1 - plot.north)) < 0.2);
      ++i;
    }
    CHECK(i == marks.size());
  }
}

TEST_CASE("a map says in words what it shows, whatever the names hold") {
  const Drawn made;
  (void)made.write(made.folder());
  const std::vector<Element> elements = elements_of(read_whole(made.folder() / "QPR.svg"));
  CHECK(all(elements, "title").at(0).text == R"(QPR Quill <"Prairie"> & 'more')");
  CHECK(all(elements, "text", "title").at(0).text == R"(QPR Quill <"Prairie"> & 'more')");
  std::set<std::string> texts;
  for (const Element& text : all(elements, "text")) texts.insert(text.text);
  CHECK(texts.count("Counts & <surveys> 2027, seed 2027") == 1);
  // 414 × 304 m drawn, 50 × 50 m of it cut out.
  CHECK(texts.count("12 ha will be surveyed") == 1);
  CHECK(texts.count("0.25 ha cut out: water & <mud>") == 1);
  CHECK(texts.count("best score of the species") == 1);
  // What is cut out is hatched, and says why when pointed at.
  CHECK(all(elements, "title").back().text == "water & <mud>");
}

TEST_CASE("a long verge is mapped in parts, each plot in one of them") {
  const Drawn made;
  (void)made.write(made.folder());
  const std::vector<Element> elements = elements_of(read_whole(made.folder() / "PEL.svg"));
  const std::vector<Element> frames = all(elements, "rect", "frame");
  REQUIRE(frames.size() > 1);
  for (const Element& mark : marks_of(elements)) {
    int inside = 0;
    for (const Element& frame : frames)
      inside += mark.number("cx") >= frame.number("x") &&
                mark.number("cx") <= frame.number("x") + frame.number("width") &&
                mark.number("cy") >= frame.number("y") &&
                mark.number("cy") <= frame.number("y") + frame.number("height");
    CHECK(inside == 1);
  }
  const std::string heading = fmt::format("part 1 of {}, from west to east", frames.size());
  CHECK(all(elements, "text", "small").at(0).text == heading);
}

TEST_CASE("a site of a thousand plots leaves names out and says so, its neighbours keep theirs") {
  Drawn made;
  std::vector<Plot> crowd;
  for (const Plot& plot : made.plots)
    if (plot.site == "SKP") crowd.push_back(plot);
  for (std::size_t i = 0; crowd.size() < 1000; ++i) {
    Plot plot = crowd[i % 5];
    plot.name = fmt::format("SKP{:04}", i);
    plot.east = 761005 + double((i * 127) % 197);
    plot.north = 4209609 + double((i * 89) % 193);
    crowd.push_back(plot);
    made.plots.push_back(plot);
  }
  (void)made.write(made.folder());
  const auto says_so = [&](const char* file) {
    const std::vector<Element> texts = all(elements_of(read_whole(made.folder() / file)), "text", "small");
    return std::any_of(texts.begin(), texts.end(), [](const Element& text) {
      return text.text == "names left out: see the point files";
    });
  };
  CHECK(says_so("SKP.svg"));
  CHECK(all(elements_of(read_whole(made.folder() / "SKP.svg")), "text", "name").empty());
  CHECK(marks_of(elements_of(read_whole(made.folder() / "SKP.svg"))).size() == 1000);
  CHECK_FALSE(says_so("QPR.svg"));
  CHECK_FALSE(all(elements_of(read_whole(made.folder() / "QPR.svg")), "text", "name").empty());
}

TEST_CASE("every plot on a map is drawn within the map's sheet") {
  const Drawn made;
  (void)made.write(made.folder());
  const std::string map = read_whole(made.folder() / "QPR.svg");
  const std::size_t begin = map.rfind("<g clip-path=\"url(#sheet0)\">");
  const std::size_t end = map.find("</g>", begin);
  REQUIRE(end != std::string::npos);
  CHECK(map.find("<clipPath id=\"sheet0\">") < begin);
  const std::size_t first = map.find("class=\"unit\""), last = map.rfind("class=\"unit\"");
  REQUIRE(first != std::string::npos);
  CHECK(first > begin);
  CHECK(last < end);
}

TEST_CASE("the same draw gives the same maps, and each site's own") {
  Drawn made;
  (void)made.write(made.folder());
  const std::string before = read_whole(made.folder() / "SKP.svg");
  (void)made.write(made.folder());
  CHECK(read_whole(made.folder() / "SKP.svg") == before);
  made.small.sites->sites = {made.small.site("SKP")};
  (void)made.write(made.folder());
  CHECK(read_whole(made.folder() / "SKP.svg") == before);
}

TEST_CASE("maps of sites that are gone, or wholly cut out, do not stay; other files do") {
  Drawn made;
  (void)made.write(made.folder());
  std::ofstream(made.folder() / "notes.txt") << "mine";
  fs::create_directories(made.folder() / "printed.svg");
  std::ofstream(made.folder() / "printed.svg" / "QPR.svg") << "mine";
  made.small.sites->sites[made.site("QPR")].survey = Geometry();
  made.small.sites->sites.erase(made.small.sites->sites.begin() + std::ptrdiff_t(made.site("PEL")));
  CHECK(made.write(made.folder()) == std::vector<fs::path>{made.folder() / "SKP.svg"});
  CHECK(names_in(made.folder()) == std::set<std::string>{"SKP.svg", "notes.txt", "printed.svg"});
  CHECK(names_in(made.folder() / "printed.svg").size() == 1);
}

TEST_CASE("codes that make one file name get a map each") {
  Drawn made;
  made.small.sites->sites[made.site("PEL")].code = "S/1";
  made.small.sites->sites[made.site("QPR")].code = "S 1";
  for (Plot& plot : made.plots)
    plot.site = plot.site == "PEL" ? "S/1" : plot.site == "QPR" ? "S 1" : plot.site;
  const std::vector<fs::path> written = made.write(made.folder());
  CHECK(std::set<fs::path>(written.begin(), written.end()).size() == 3);
  CHECK(names_in(made.folder()) == std::set<std::string>{"SKP.svg", "S_1.svg", "S_1-2.svg"});
  CHECK(all(elements_of(read_whole(made.folder() / "S_1.svg")), "title").at(0).text == "S/1 Site PEL");
}

TEST_CASE("a folder that cannot be written is said, and nothing is left half-written") {
  const Drawn made;
  std::ofstream(made.small.season.plan.folder / "file") << "mine";
  CHECK_THROWS_AS((void)made.write(made.small.season.plan.folder / "file"), IoError);
  CHECK(read_whole(made.small.season.plan.folder / "file") == "mine");

  // A folder of the map's name in the way of the second site.
  fs::create_directories(made.folder() / "QPR.svg");
  CHECK_THROWS_AS((void)made.write(made.folder()), IoError);
  for (const std::string& name : names_in(made.folder())) CHECK(name.find(".part") == std::string::npos);
  CHECK(report_test::well_formed(made.folder() / "PEL.svg"));
  fs::remove(made.folder() / "QPR.svg");

  // Maps of an earlier draw in a folder that may only be read.
  (void)made.write(made.folder());
  std::ofstream(made.folder() / "OLD.svg") << "<svg/>";
  const std::string before = read_whole(made.folder() / "QPR.svg");
  fs::permissions(made.folder(), fs::perms::owner_read | fs::perms::owner_exec | fs::perms::others_read |
                                     fs::perms::others_exec);
  as_nobody([&] { CHECK_THROWS_AS((void)made.write(made.folder()), IoError); });
  fs::permissions(made.folder(), fs::perms::owner_all);
  CHECK(names_in(made.folder()) == std::set<std::string>{"OLD.svg", "PEL.svg", "QPR.svg", "SKP.svg"});
  CHECK(read_whole(made.folder() / "QPR.svg") == before);
}

}  // namespace site_map_test
