#include "swardline/field/point_files.hpp"

#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <cstdlib>
#include <fstream>
#include <iterator>
#include <memory>
#include <set>
#include <sstream>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/field/names.hpp"
#include "swardline/grid/layers.hpp"

namespace point_files_test {

using namespace swardline;
namespace fs = std::filesystem;

namespace {

struct TempFolder {
  fs::path path = fs::temp_directory_path() / ("swardline-points-" + std::to_string(::getpid()));
  TempFolder() {
    fs::remove_all(path);
    fs::create_directories(path);
  }
  ~TempFolder() { fs::remove_all(path); }
};

FieldPlots some_plots(int count, const std::vector<std::string>& sites) {
  set_up_gdal();
  FieldPlots field;
  field.season = "Test & season <2027>";
  field.crs_name = "NAD83 / UTM zone 14N";
  for (std::size_t s = 0; s < sites.size(); ++s) {
    const double lat = 38.0 + 0.01 * double(s);
    for (int i = 1; i <= count; ++i) {
      Plot plot;
      plot.site = sites[s];
      plot.name = plot_name(sites[s], i);
      plot.stratum = sites[s] + "|score=50-75|v1";
      plot.order = i;
      plot.spare = i > count - 2;
      plot.lat = lat + 1e-4 * i;
      plot.lon = -96.0 + 7e-5 * i;
      plot.chance_per_m2 = 0.001;
      plot.weight_m2 = 1000;
      plot.bearing_deg = 50;
      plot.inside_m2 = 20;
      plot.walk = plot.spare ? 0 : count - i;
      plot.why = "=1+1";
      field.plots.push_back(plot);
    }
    field.boundaries[sites[s]] = box_polygon({-96.01, lat, -95.99, lat + 0.009});
    field.site_names[sites[s]] = "Site " + sites[s];
  }
  return field;
}

std::string text_of(const fs::path& path) { return read_whole(path); }

int count_of(const std::string& text, const std::string& part) {
  int n = 0;
  for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++n;
  return n;
}

}  // namespace

TEST_CASE("every format reads back within 0.2 m and keeps every point") {
  const TempFolder folder;
  const FieldPlots field = some_plots(14, {"QPR", "SKP"});
  PointsSpec spec;
  spec.name_profile = "6";
  spec.formats = {"gpx", "geojson", "kml", "csv", "gpkg"};
  const std::vector<PointFile> files = write_points(field, spec, folder.path);
  CHECK(files.size() == 15);  // all, and each of two sites, in five formats
  for (const PointFile& file : files) {
    CHECK(file.largest_difference_m < 0.2);
    CHECK(fs::exists(file.path));
  }
  CHECK(files[0].points == 28);
}

TEST_CASE("a unit's limits split files and routes without losing a point") {
  const TempFolder folder;
  std::vector<std::string> sites;
  for (char c = 'A'; c <= 'H'; ++c) sites.push_back(std::string("S") + c + "T");
  const FieldPlots field = some_plots(77, sites);  // 616 points
  PointsSpec spec;
  spec.points_per_file = 500;
  spec.points_per_route = 50;
  int in_all = 0;
  for (const PointFile& file : write_points(field, spec, folder.path)) {
    CHECK(file.points <= 500);
    if (file.path.filename().string().size() <= std::string("plots-1.gpx").size()) in_all += file.points;
  }
  CHECK(in_all == 616);
  const std::string gpx = text_of(folder.path / "plots-SAT.gpx");
  CHECK(count_of(gpx, "<rte>") == 2);  // 75 planned plots, 50 to a route
  CHECK(count_of(gpx, "<rtept ") == 75);
  CHECK(count_of(gpx, "<wpt ") == 77);
}

TEST_CASE("files of an earlier, longer draw do not stay beside the new ones") {
  const TempFolder folder;
  PointsSpec spec;
  spec.points_per_file = 10;
  (void)write_points(some_plots(30, {"QPR"}), spec, folder.path);
  CHECK(fs::exists(folder.path / "plots-3.gpx"));
  (void)write_points(some_plots(10, {"QPR"}), spec, folder.path);
  CHECK_FALSE(fs::exists(folder.path / "plots-3.gpx"));
  CHECK(fs::exists(folder.path / "plots.gpx"));
}

TEST_CASE("no two point files share a name, and each holds its own site") {
  const TempFolder folder;
  PointsSpec spec;
  spec.points_per_file = 10;
  const FieldPlots field = some_plots(12, {"A", "A-1", "1", "S/2", "S 2"});
  const std::vector<PointFile> files = write_points(field, spec, folder.path);
  std::set<fs::path> paths;
  int in_all = 0;
  for (const PointFile& file : files) {
    CHECK(fs::exists(file.path));
    paths.insert(file.path);
    in_all += file.points;
  }
  CHECK(paths.size() == files.size());
  CHECK(in_all == 2 * 5 * 12);  // once with all, once by site
  const auto on_disk = std::distance(fs::directory_iterator(folder.path), fs::directory_iterator());
  CHECK(on_disk == std::ptrdiff_t(files.size()));
}

TEST_CASE("parts of site A are not taken for site A-1") {
  const TempFolder folder;
  PointsSpec spec;
  spec.points_per_file = 20;
  FieldPlots field = some_plots(30, {"1", "A", "A-1"});
  std::erase_if(field.plots, [](const Plot& plot) { return plot.site != "A" && plot.order > 5; });
  (void)write_points(field, spec, folder.path);
  CHECK(text_of(folder.path / "plots-1.gpx").find("<name>1 Site 1</name>") != std::string::npos);
  CHECK(fs::exists(folder.path / "plots-part-1.gpx"));
  CHECK(text_of(folder.path / "plots-A-1.gpx").find("<name>A-1 Site A-1</name>") != std::string::npos);
  CHECK(text_of(folder.path / "plots-A-part-1.gpx").find("<name>A Site A (1 of 2)</name>") !=
        std::string::npos);
  CHECK(text_of(folder.path / "plots-A-part-2.gpx").find("<name>A Site A (2 of 2)</name>") !=
        std::string::npos);
}

TEST_CASE("files of an earlier draw in other formats go, a person's own stay") {
  const TempFolder folder;
  PointsSpec spec;
  spec.formats = {"gpx", "geojson", "kml", "csv", "gpkg"};
  (void)write_points(some_plots(5, {"QPR", "SKP"}), spec, folder.path);
  write_whole(folder.path / "plots-to-visit.csv", "plot,remark\nQPR01K,ask for the key\n");
  write_whole(folder.path / "plots-track.gpx", "<gpx version=\"1.1\" creator=\"a unit\"/>\n");
  write_whole(folder.path / "plots.txt", "chance_per_m2 held_down_by\n");
  spec.formats = {"csv", "csv"};
  CHECK(write_points(some_plots(5, {"QPR"}), spec, folder.path).size() == 1);
  std::set<std::string> left;
  for (const auto& entry : fs::directory_iterator(folder.path)) left.insert(entry.path().filename().string());
  CHECK(left == std::set<std::string>{"plots.csv", "plots-to-visit.csv", "plots-track.gpx", "plots.txt"});
}

TEST_CASE("files of an earlier draw stay until the new ones are in place") {
  const TempFolder folder;
  PointsSpec spec;
  spec.formats = {"gpx", "kml"};
  (void)write_points(some_plots(5, {"QPR", "SKP"}), spec, folder.path);
  fs::create_directories(folder.path / "plots.csv" / "in the way");  // the second format cannot be written
  spec.formats = {"geojson", "csv"};
  CHECK_THROWS_AS((void)write_points(some_plots(5, {"QPR"}), spec, folder.path), IoError);
  for (const char* name : {"plots.gpx", "plots.kml", "plots-QPR.gpx", "plots-SKP.kml"})
    CHECK(fs::exists(folder.path / name));
}

TEST_CASE("GPX is valid against the GPX 1.1 schema and the route keeps walking order") {
  const TempFolder folder;
  FieldPlots field = some_plots(14, {"QPR"});
  field.plots[0].lon = 180;   // the schema allows [-180, 180)
  field.plots[1].lon = 1e-7;  // and no exponents
  (void)write_points(field, PointsSpec{}, folder.path);
  const std::string gpx = text_of(folder.path / "plots.gpx");
  CHECK(gpx.find("Test &amp; season &lt;2027&gt;") != std::string::npos);
  CHECK(gpx.find("lon=\"-180.00000000\"") != std::string::npos);
  // Planned plots were given walk = count - order, so the route runs backwards.
  CHECK(gpx.find("<name>QPR12T</name>", gpx.find("<rte>")) <
        gpx.find("<name>QPR01K</name>", gpx.find("<rte>")));

  // Schema: GPX 1.1, TopoGrafix 2004 (shared/references/data/gpx-1.1.xsd), through xmllint.
  const char* shared = std::getenv("SWARDLINE_SHARED");
  const fs::path schema = (shared ? fs::path(shared) : fs::path(SWARDLINE_SOURCE_DIR) / "../shared") /
                          "references/data/gpx-1.1.xsd";
  if (!fs::exists(schema)) {
    MESSAGE("skipped: the GPX schema is not here");
    return;
  }
  const std::string command = "xmllint --noout --schema '" + schema.string() + "' '" +
                              (folder.path / "plots.gpx").string() + "' 2>/dev/null";
  CHECK(std::system(command.c_str()) == 0);
}

TEST_CASE("the CSV holds every notation, truncated grid references and no formulas") {
  const TempFolder folder;
  FieldPlots field = some_plots(14, {"QPR"});
  field.plots.resize(1);
  field.plots[0].lat = 38.00412;
  field.plots[0].lon = -96.02184;
  PointsSpec spec;
  spec.formats = {"csv"};
  (void)write_points(field, spec, folder.path);
  const std::string csv = text_of(folder.path / "plots.csv");
  // USNG is truncated, never rounded (FGDC-STD-011-2001); both zones near the edge at 96 W.
  CHECK(csv.find("14S QH 61488 10458") != std::string::npos);
  CHECK(csv.find("15S TC 34675 10582") != std::string::npos);
  CHECK(csv.find("38 00.247 N 96 01.310 W") != std::string::npos);
  CHECK(csv.find(",'=1+1") != std::string::npos);
}

TEST_CASE("a folder that cannot be written is an error that leaves nothing") {
  set_up_gdal();
  CHECK_THROWS_AS((void)write_points(some_plots(3, {"QPR"}), PointsSpec{}, "/proc/none/points"), IoError);
}

}  // namespace point_files_test
