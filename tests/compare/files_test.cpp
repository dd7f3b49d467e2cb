// What is written, read back.
#include <doctest/doctest.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <memory>
#include <set>

#include "made_season.hpp"
#include "swardline/base/error.hpp"
#include "swardline/compare/map_file.hpp"
#include "swardline/compare/proposal.hpp"

namespace files_test {

using namespace swardline;

namespace {

/// Fields of a CSV text, quotes taken off.
std::vector<std::vector<std::string>> rows_of(const std::string& csv) {
  std::vector<std::vector<std::string>> rows(1, std::vector<std::string>(1));
  bool quoted = false;
  for (std::size_t i = 0; i < csv.size(); ++i) {
    const char c = csv[i];
    if (c == '"') {
      if (quoted && i + 1 < csv.size() && csv[i + 1] == '"')
        rows.back().back() += csv[++i];
      else
        quoted = !quoted;
    } else if (c == ',' && !quoted) {
      rows.back().emplace_back();
    } else if (c == '\n' && !quoted) {
      rows.emplace_back(1);
    } else {
      rows.back().back() += c;
    }
  }
  rows.pop_back();
  return rows;
}

std::size_t column(const std::vector<std::vector<std::string>>& rows, const std::string& name) {
  const auto found = std::find(rows.front().begin(), rows.front().end(), name);
  REQUIRE(found != rows.front().end());
  return std::size_t(found - rows.front().begin());
}

CompareOptions tried(const compare_test::Made& made) {
  CompareOptions options;
  options.proposed = {with_class_score(made.season.sheets[0], "cover", "GL", 0.8)};
  return options;
}

}  // namespace

TEST_CASE("every number is a row with its method, and every row has every column") {
  const auto made = compare_test::story_of_the_glade();
  const auto rows = rows_of(compare_csv(made->compare(tried(*made))));
  REQUIRE(rows.size() > 40);
  const std::size_t method = column(rows, "method"), value = column(rows, "value");
  std::set<std::string> about;
  for (const auto& row : rows) {
    CHECK(row.size() == rows.front().size());
    if (&row == &rows.front()) continue;
    CHECK_FALSE(row[method].empty());
    about.insert(row[column(rows, "about")]);
    if (row[column(rows, "plots")] != "0") CHECK_FALSE(row[value].empty());
  }
  CHECK(about == std::set<std::string>{"score", "no number", "index", "factor moisture", "factor cover",
                                       "factor canopy", "factor heat", "proposed sheet"});
}

TEST_CASE("plots come as rows, false lows first, with what would raise them") {
  const auto made = compare_test::story_of_the_glade();
  const auto rows = rows_of(compare_plots_csv(made->compare(tried(*made)), made->season, made->counted));
  REQUIRE(rows.size() == 61);
  for (const auto& row : rows) CHECK(row.size() == rows.front().size());
  const std::size_t finding = column(rows, "finding");
  for (std::size_t i = 1; i <= 3; ++i) {
    CHECK(rows[i][finding] == "false low");
    CHECK(rows[i][column(rows, "held_down_by")] == "cover");
    CHECK(rows[i][column(rows, "raised_by")] == "cover");
    CHECK(rows[i][column(rows, "raised_to")] == "0.9146");
    CHECK(rows[i][column(rows, "score_proposed")].substr(0, 3) == "0.8");
  }
  for (std::size_t i = 4; i <= 12; ++i) CHECK(rows[i][finding] == "false high");
  CHECK(rows[60][finding].starts_with("set aside: fix accuracy 14 m"));
}

TEST_CASE("one open map file of plots with counts, scores, values and findings") {
  const auto made = compare_test::story_of_the_glade();
  made->counted.units.push_back(made->counted.units.front());
  EvaluatedUnit& mown = made->counted.units.back();
  mown.name = "P061";
  mown.evaluated = false;
  mown.fate = "not countable (mown)";
  const Crs crs = Crs::from_text("EPSG:26914");
  const auto file = made->folder / "compare.gpkg";
  write_compare_map(made->compare(tried(*made)), made->season, made->counted, crs, file);
  std::unique_ptr<GDALDataset> dataset(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
  REQUIRE(dataset);
  CHECK(dataset->GetLayerCount() == 1);
  OGRLayer* layer = dataset->GetLayerByName("plots");
  REQUIRE(layer);
  CHECK(layer->GetFeatureCount() == 61);
  CHECK(std::string(layer->GetSpatialRef()->GetAuthorityCode(nullptr)) == "26914");
  int lows = 0, waiting = 0;
  for (const auto& row : *layer) {
    const OGRPoint* at = row->GetGeometryRef()->toPoint();
    CHECK(at->getX() > 600000);
    const std::string finding = row->GetFieldAsString("finding");
    if (finding == "not counted: not countable (mown)") {
      ++waiting;
      CHECK(std::string(row->GetFieldAsString("species")).empty());
      continue;
    }
    CHECK(std::string(row->GetFieldAsString("species")) == "PTUB");
    if (finding == "false low") {
      ++lows;
      CHECK(row->GetFieldAsDouble("score") == doctest::Approx(0.4441).epsilon(1e-3));
      CHECK(row->GetFieldAsDouble("score_proposed") == doctest::Approx(0.8).epsilon(1e-3));
      CHECK(row->GetFieldAsDouble("moisture") == 30);
      CHECK(std::string(row->GetFieldAsString("cover")) == "GL");
      CHECK(std::string(row->GetFieldAsString("held_down_by")) == "cover");
      CHECK(row->GetFieldAsDouble("fix_distance_m") == doctest::Approx(1));
    }
    if (finding.starts_with("no score")) CHECK_FALSE(row->IsFieldSetAndNotNull(row->GetFieldIndex("score")));
  }
  CHECK(lows == 3);
  CHECK(waiting == 1);
}

TEST_CASE("a map file that cannot be written leaves nothing half made") {
  const auto made = compare_test::story_of_the_glade();
  const auto file = made->folder / "no-such-folder" / "compare.gpkg";
  CHECK_THROWS_AS(
      write_compare_map(made->compare(), made->season, made->counted, Crs::from_text("EPSG:26914"), file),
      IoError);
  CHECK_FALSE(std::filesystem::exists(file));
}

TEST_CASE("the words hold what a meeting needs, in order") {
  const auto made = compare_test::story_of_the_glade();
  const std::string words = in_words(made->compare(tried(*made)), made->season, made->counted);
  std::size_t at = 0;
  for (const char* part :
       {"PTUB Penstemon tubaeflorus, sheet version 3: 56 plots compared, 19 of them occupied",
        "False lows: occupied, score below 0.50",
        "3 occupied plots: moisture 1.00 but cover GL 0.30 (score about 0.44): P001 (4 stems)",
        "False highs: empty, score 0.75 or more", "Tried: cover GL 0.3 to 0.8", "By score", "0.00–0.25",
        "Along each factor", "Agreement", "Kept apart", "A score is a rule about habitat"}) {
    CAPTURE(part);
    const std::size_t next = words.find(part, at);
    REQUIRE(next != std::string::npos);
    at = next;
  }
  CHECK(words.find("nan") == std::string::npos);
}

}  // namespace files_test
