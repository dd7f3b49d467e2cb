// Reading pilot counts, and what is refused.
#include <doctest/doctest.h>
#include <unistd.h>

#include <cmath>
#include <filesystem>
#include <fstream>

#include "swardline/effort/pilot.hpp"
#include "swardline/grid/layers.hpp"

namespace pilot_test {

using namespace swardline;
namespace fs = std::filesystem;

namespace {

class PilotFile {
 public:
  explicit PilotFile(const std::string& text)
      : folder_(fs::temp_directory_path() / ("swardline-pilot-" + std::to_string(::getpid()))) {
    set_up_gdal();
    fs::create_directories(folder_);
    std::ofstream(path()) << text;
  }
  ~PilotFile() { fs::remove_all(folder_); }
  [[nodiscard]] fs::path path() const { return folder_ / "pilot.csv"; }

 private:
  fs::path folder_;
};

std::string stop_of(const std::string& text) {
  const PilotFile file(text);
  Flags flags;
  (void)read_pilot(file.path(), {"PTUB", "PGRA"}, flags);
  for (const Flag& flag : flags.all())
    if (flag.severity == Severity::stop) return flag.place.item + " " + flag.meaning;
  return {};
}

bool holds(const std::string& text, const std::string& part) { return text.find(part) != std::string::npos; }

}  // namespace

TEST_CASE("counts on the same plots in two seasons, as the differences of a handbook's paired plots") {
  // Spellman & Whiting 2013, Handbook of Mathematics and Statistics for the Environment, paired plots: mean
  // difference 1.0, variance of differences 2.6.
  const int a[11] = {12, 8, 8, 11, 10, 9, 11, 11, 13, 10, 7};
  const int b[11] = {10, 7, 8, 9, 11, 6, 10, 11, 10, 8, 9};
  std::string text = "species,plot,count,season,remark\n";
  for (int i = 0; i < 11; ++i) {
    text += "PTUB,P" + std::to_string(i) + "," + std::to_string(b[i]) + ",2026,\"wet, windy\"\n";
    text += "PTUB,P" + std::to_string(i) + "," + std::to_string(a[i]) + ",2027,\n";
  }
  const PilotFile file(text);
  Flags flags;
  const Pilot pilot = read_pilot(file.path(), {"PTUB", "PGRA"}, flags);
  CHECK(flags.all().empty());
  const PilotCounts& counts = pilot.at("PTUB");
  CHECK(counts.plots == 11);
  CHECK(counts.pairs == 11);
  CHECK(counts.mean == doctest::Approx(10));
  CHECK(counts.sd == doctest::Approx(1.84391));  // of the later season: sqrt(34/10)
  CHECK(counts.sd_of_differences * counts.sd_of_differences == doctest::Approx(2.6));
  // var(a - b) = var a + var b - 2 r sd a sd b
  const double sd_b = std::sqrt(26.0 / 10);
  CHECK(*counts.correlation == doctest::Approx((3.4 + 2.6 - 2.6) / (2 * counts.sd * sd_b)));
}

TEST_CASE("a pilot that says nothing of the spread says why") {
  const auto silent = [](const std::string& rows) {
    const PilotFile file("species,plot,count\n" + rows);
    Flags flags;
    const Pilot pilot = read_pilot(file.path(), {"PTUB"}, flags);
    CHECK(flags.all().empty());
    return why_silent(pilot.at("PTUB"));
  };
  CHECK(silent("PTUB,1,0\nPTUB,2,0\nPTUB,3,0\nPTUB,4,0\nPTUB,5,0\n") ==
        "5 plots all zero tell nothing about spread");
  CHECK(silent("PTUB,1,0\n") == "1 plot all zero tells nothing about spread");
  CHECK(silent("PTUB,1,4\nPTUB,2,1\n") == "2 plots tell nothing about spread");
  CHECK(silent("PTUB,1,3\nPTUB,2,3\nPTUB,3,3\nPTUB,4,3\nPTUB,5,3\n") ==
        "5 plots with the same count tell nothing about spread");
  CHECK(silent("PTUB,1,3\nPTUB,2,3\nPTUB,3,3\nPTUB,4,3\nPTUB,5,2\n").empty());
}

TEST_CASE("what is not a pilot is refused with its row") {
  CHECK(holds(stop_of("species,plot\nPTUB,1\n"), "has no column count"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,~100\n"), "row 2"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,~100\n"), "'~100' is not a count"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,2.5\n"), "'2.5' is not a count"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,-1\n"), "'-1' is not a count"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,\n"), "'' is not a count"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,4\nPTUB,1,4\n"), "plot 1 twice"));
  CHECK(holds(stop_of("species,plot,count\n,1,4\n"), "has no species"));
  CHECK(holds(stop_of("species,plot,count\nPTUB,1,4\nPTUBB,2,4\n"), "row 3 PTUBB is the code of no sheet"));
  CHECK(holds(stop_of("species,plot,count\n"), "holds no count"));
  CHECK(holds(stop_of(std::string(4000, '\0')), "cannot be read as a table"));
  // Rows of a species with a spreadsheet's empty tail are no fault; blanks round a cell are none either.
  CHECK(stop_of("species,plot,count\nPTUB, 1 ,4\n,,\n").empty());
  Flags flags;
  (void)read_pilot("/no/such/pilot.csv", {"PTUB"}, flags);
  CHECK(flags.stopped());
}

}  // namespace pilot_test
