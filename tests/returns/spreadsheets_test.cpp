// Tables that GDAL opens, written here through GDAL.
#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <cmath>
#include <memory>

#include "returned_season.hpp"

namespace spreadsheets_test {

using namespace swardline;

namespace {

struct Column {
  const char* name;
  OGRFieldType type;
};

/// A table with the rows QPR07E, blank (where asked) and QPR01K.
std::filesystem::path written(const ReturnedSeason& at, const char* driver, const std::string& name,
                              bool blank_row, bool counts_as_text = false,
                              const char* second_sheet = nullptr) {
  GDALAllRegister();
  const auto file = at.folder / name;
  std::unique_ptr<GDALDataset> dataset(
      GetGDALDriverManager()->GetDriverByName(driver)->Create(file.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
  REQUIRE(dataset);
  for (const char* sheet : {"counts", second_sheet}) {
    if (sheet == nullptr) continue;
    OGRLayer* layer = dataset->CreateLayer(sheet, nullptr, wkbNone, nullptr);
    REQUIRE(layer != nullptr);
    for (const Column& column :
         {Column{"plot", OFTString}, Column{"visit_date", OFTDate}, Column{"species", OFTString},
          Column{"flowering_stems", counts_as_text ? OFTString : OFTInteger},
          Column{"area_searched_m2", OFTReal}}) {
      OGRFieldDefn field(column.name, column.type);
      REQUIRE(layer->CreateField(&field) == OGRERR_NONE);
    }
    for (const char* plot : {"QPR07E", "", "QPR01K"}) {
      if (*plot == 0 && !blank_row) continue;
      OGRFeature feature(layer->GetLayerDefn());
      if (*plot != 0) {
        feature.SetField(0, plot);
        feature.SetField(1, 2027, 5, 28, 0, 0, 0.0F, 0);
        feature.SetField(2, "PTUB");
        if (counts_as_text && std::string(plot) == "QPR07E")
          feature.SetField(3, "~100");
        else
          feature.SetField(3, 14);
        feature.SetField(4, 12.3);
      }
      REQUIRE(layer->CreateFeature(&feature) == OGRERR_NONE);
    }
  }
  return file;
}

void check_rows(const Returns& returns, std::uint32_t second_row) {
  REQUIRE(returns.rows.size() == 2);
  CHECK(returns.rows[0].at.row == 2);
  CHECK(returns.rows[1].at.row == second_row);
  CHECK(returns.rows[0].plot == 2);
  CHECK(returns.rows[1].plot == 0);
  for (const ReturnRow& row : returns.rows) {
    CHECK(row.date == 20966);
    CHECK(row.species == 2);
    CHECK(row.stems == 14);
    CHECK(row.area_searched_m2 == doctest::Approx(12.3));
    CHECK(row.unread == 0);
  }
}

}  // namespace

TEST_CASE("spreadsheets: every row under the number that is seen there, dates as dates") {
  for (const auto& [driver, name] : {std::pair{"XLSX", "north.xlsx"}, {"ODS", "north.ods"}}) {
    ReturnedSeason at;
    take_in({written(at, driver, name, true)}, at.season.plan, day_2027_06_14, at.flags);
    CHECK(at.flags.all().empty());
    check_rows(at.read(), 4);
  }
}

TEST_CASE("spreadsheets whose columns are all text still have their headings in row 1") {
  for (const auto& [driver, name] : {std::pair{"XLSX", "north.xlsx"}, {"ODS", "north.ods"}}) {
    ReturnedSeason at;
    take_in({written(at, driver, name, false, true)}, at.season.plan, day_2027_06_14, at.flags);
    const Returns returns = at.read();
    REQUIRE(returns.rows.size() == 2);
    CHECK(returns.rows[0].cannot_read(ReturnColumn::flowering_stems));
    CHECK(returns.original(returns.rows[0].at, ReturnColumn::flowering_stems) == "~100");
    CHECK(returns.rows[1].stems == 14);
  }
}

TEST_CASE("GeoPackage and dBase tables; dBase cuts headings to ten characters") {
  {
    ReturnedSeason at;
    take_in({written(at, "GPKG", "north.gpkg", false)}, at.season.plan, day_2027_06_14, at.flags);
    check_rows(at.read(), 3);
    CHECK(at.kept().size() == 1);  // nothing was written beside the copy
  }
  ReturnedSeason at;
  GDALAllRegister();
  const auto file = written(at, "ESRI Shapefile", "north.dbf", false);
  take_in({file}, at.season.plan, day_2027_06_14, at.flags);
  check_rows(at.read(), 3);
}

TEST_CASE("two sheets that both could be the return are not chosen between") {
  ReturnedSeason at;
  const std::string said = at.refused_file(written(at, "XLSX", "north.xlsx", false, false, "more"));
  CHECK(said ==
        "north.xlsx: has two sheets that could be the return, counts and more. Save each as a file of its "
        "own.");
  CHECK(at.kept().empty());
}

TEST_CASE("points in WGS84 give the fixes of a table without lat and lon") {
  ReturnedSeason at;
  const Returns returns = at.take(
      R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"plot":"QPR07E","visit_date":"2027-05-28",)"
      R"("species":"PTUB","flowering_stems":14},"geometry":{"type":"Point","coordinates":[-96.02184,38.00412]}}]})",
      "north.geojson");
  REQUIRE(returns.rows.size() == 1);
  CHECK(returns.rows[0].lat == 38.00412);
  CHECK(returns.rows[0].lon == -96.02184);
  CHECK(returns.rows[0].stems == 14);
}

TEST_CASE("formats that point elsewhere are not opened") {
  ReturnedSeason at;
  const auto other =
      at.put("other.csv", "plot,visit_date,species,flowering_stems\nQPR07E,2027-05-28,PTUB,1\n");
  const std::string vrt = "<OGRVRTDataSource><OGRVRTLayer name=\"other\"><SrcDataSource>" + other.string() +
                          "</SrcDataSource></OGRVRTLayer></OGRVRTDataSource>";
  CHECK(at.refused(vrt, "north.vrt").starts_with("north.vrt: is no table that can be read"));
  CHECK(at.kept().empty());
}

}  // namespace spreadsheets_test
