// Returns that cannot be used: one clear line each, nothing half stored.
#include <doctest/doctest.h>
#include <fcntl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

#include <fstream>

#include "returned_season.hpp"

namespace bad_returns_test {

using namespace swardline;

namespace {

const std::string heading = "plot,visit_date,species,flowering_stems\n";

struct Bad {
  const char* name;
  std::string content;
  const char* said;
};

}  // namespace

TEST_CASE("each bad file is refused with its place and what to do") {
  ReturnedSeason at;
  std::string binary;
  for (int i = 0; i < 5000; ++i) binary += static_cast<char>(i * 7919 >> 3);
  const std::vector<Bad> bad = {
      {"picture.jpg", "\xFF\xD8\xFF\xE0" + binary,
       "picture.jpg: is no table that can be read. Save the table as CSV"},
      {"binary.csv", "plot,visit_date\n" + binary, "binary.csv:2: holds a NUL byte"},
      {"nul.csv", heading + "QPR07E,2027-05-28,PTUB,1\nQPR01K,2027-05-28,PTUB," + std::string(1, '\0') + "\n",
       "nul.csv:3: holds a NUL byte"},
      {"empty.csv", "", "empty.csv: is empty"},
      {"headings.csv", heading, "headings.csv: has headings and no row"},
      {"blank.csv", heading + ",,,\n\n", "blank.csv: has headings and no row"},
      {"ragged.csv", heading + "QPR07E,2027-05-28,PTUB,1\nQPR01K,2027-05-28,PTUB\n",
       "ragged.csv, row 3: has 3 cells where there are 4 headings"},
      {"wide.csv", heading + "QPR07E,2027-05-28,PTUB,1,5\n", "wide.csv, row 2: has 5 cells"},
      {"open.csv", heading + "QPR07E,2027-05-28,PTUB,\"1\nQPR01K,2027-05-28,PTUB,1\n",
       "open.csv, row 2: a quotation mark"},
      {"half.csv", "\xFF\xFEp\0l\0o\0t", "half.csv"},
      {"letter.txt", "Dear all,\nwe had a good day.\n", "letter.txt, row 1: no heading is the column plot"},
      {"broken.xlsx", "PK\x03\x04" + binary, "broken.xlsx: is no table that can be read"},
      {"broken.gpkg", "SQLite format 3" + binary, "broken.gpkg: is no table that can be read"},
      {"tracks.gpx", "<gpx version=\"1.1\" xmlns=\"http://www.topografix.com/GPX/1/1\"></gpx>", "tracks.gpx"},
      {"shape.shp", binary, "shape.shp: is one of several files of a shapefile"}};
  for (const Bad& one : bad) {
    const std::string said = at.refused(one.content, one.name);
    CHECK_MESSAGE(said.starts_with(one.said), said);
    CHECK(said.find('\n') == std::string::npos);
    CHECK_MESSAGE(at.kept().empty(), one.name);
  }
  CHECK(read_ledger(at.season.plan).empty());
}

TEST_CASE("what is no file at all") {
  ReturnedSeason at;
  std::filesystem::create_directory(at.folder / "sheets");
  CHECK(at.refused_file(at.folder / "sheets") ==
        "sheets: is a folder, not a file. Name the files inside it.");
  CHECK(at.refused_file(at.folder / "none.csv").find("none.csv: is not there") != std::string::npos);
  REQUIRE(::mkfifo((at.folder / "pipe").c_str(), 0600) == 0);
  CHECK(at.refused_file(at.folder / "pipe").starts_with("pipe: is not a file"));
  if (::geteuid() != 0) {  // root reads everything
    std::filesystem::permissions(at.put("locked.csv", heading), std::filesystem::perms::none);
    CHECK(at.refused_file(at.folder / "locked.csv").find("locked.csv: could not be read") !=
          std::string::npos);
  }
  CHECK(at.kept().empty());
}

TEST_CASE("a database open elsewhere is not copied by halves") {
  ReturnedSeason at;
  at.put("north.gpkg-wal", "frames");
  CHECK(at.refused("SQLite format 3", "north.gpkg").starts_with("north.gpkg: is open in another program"));
}

TEST_CASE("a line of 2 GB is refused by its row, in little memory") {
  ReturnedSeason at;
  const auto file = at.put("long.csv", heading + "QPR07E,2027-05-28,PTUB,1\nQPR01K,2027-05-28,PTUB,");
  // A hole reads as NUL bytes, so the line itself is written: 64 MB of it, and the rest as often as needed.
  {
    std::ofstream out(file, std::ios::binary | std::ios::app);
    const std::string block(std::size_t{1} << 20, '7');
    for (int i = 0; i < 64; ++i) out << block;
  }
  rusage before{};
  ::getrusage(RUSAGE_SELF, &before);
  const std::string said = at.refused_file(file);
  rusage after{};
  ::getrusage(RUSAGE_SELF, &after);
  CHECK(said.starts_with("long.csv, row 3: is longer than 1 MB"));
  CHECK(after.ru_maxrss - before.ru_maxrss < 16 * 1024);  // kilobytes; the line has 65,536
  CHECK(at.kept().empty());
}

}  // namespace bad_returns_test
