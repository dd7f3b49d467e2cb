// A season's estimates in its store.
#include <doctest/doctest.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <filesystem>
#include <memory>
#include <string>

#include "swardline/grid/layers.hpp"
#include "swardline/store/estimates_table.hpp"

namespace estimates_table_test {

using namespace swardline;
namespace fs = std::filesystem;

namespace {

Estimates two_rows() {
  Estimates all;
  EstimateRow row;
  row.where = "QPR";
  row.species = "PTUB";
  row.measure = "stems per ha";
  row.value = 1367.35;
  row.standard_error = 535.4;
  row.low = 652.7;
  row.high = 2864.7;
  row.confidence_percent = 90;
  row.limits_kind = "log-based";
  row.plots = 11;
  row.degrees_freedom = 5.75;
  row.estimator = "ratio of totals by stratum; stratified variance";
  row.source = "Cochran 1977";
  all.rows.push_back(row);
  EstimateRow single;
  single.where = "FLG";
  single.stratum = "FLG|all|v1";
  single.species = "PARK";
  single.measure = "stems per ha";
  single.plots = 1;
  all.rows.push_back(single);
  all.missing.push_back({"QPR", "", "no permission", 3e4, 0.07, 2});
  all.not_estimated.push_back({"QPR", "QPR|excluded|v1", "", "excluded for every scored species", 1.5e4});
  return all;
}

}  // namespace

TEST_CASE("estimates are written whole, again in place of the last, with their run") {
  set_up_gdal();
  const fs::path file =
      fs::temp_directory_path() / ("swardline-estimates-" + std::to_string(::getpid()) + ".gpkg");
  fs::remove(file);
  Estimates estimates = two_rows();
  const RunRecord run{"estimate", "1.0", "abc", "2027-09-01T10:00:00Z", "2027-09-01T10:00:01Z", 2027};
  write_estimates(file, estimates, run);
  estimates.rows.pop_back();
  write_estimates(file, estimates, run);
  write_estimates(file, two_rows(), run);
  const std::unique_ptr<GDALDataset> store(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
  REQUIRE(store);
  OGRLayer* table = store->GetLayerByName("estimates");
  REQUIRE(table != nullptr);
  CHECK(table->GetFeatureCount() == 2);
  const std::unique_ptr<OGRFeature> first(table->GetNextFeature()), second(table->GetNextFeature());
  REQUIRE(second);
  CHECK(std::string(first->GetFieldAsString("measure")) == "stems per ha");
  CHECK(first->GetFieldAsDouble("limit_high") == doctest::Approx(2864.7));
  CHECK(first->GetFieldAsDouble("degrees_freedom") == doctest::Approx(5.75));
  CHECK_FALSE(first->IsFieldSetAndNotNull(first->GetFieldIndex("stratum")));
  CHECK(std::string(second->GetFieldAsString("stratum")) == "FLG|all|v1");
  for (const char* none :
       {"standard_error", "limit_low", "limit_high", "confidence_percent", "degrees_freedom"})
    CHECK_FALSE(second->IsFieldSetAndNotNull(second->GetFieldIndex(none)));
  CHECK(store->GetLayerByName("not_counted")->GetFeatureCount() == 1);
  CHECK(store->GetLayerByName("not_estimated")->GetFeatureCount() == 1);
  CHECK(store->GetLayerByName("runs")->GetFeatureCount() == 3);
  fs::remove(file);
}

}  // namespace estimates_table_test
