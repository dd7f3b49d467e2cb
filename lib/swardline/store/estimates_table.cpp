#include "swardline/store/estimates_table.hpp"

#include <limits>

#include "swardline/store/rows.hpp"
#include "swardline/store/runs.hpp"

namespace swardline {
namespace {

double or_null(const std::optional<double>& value) {
  return value.value_or(std::numeric_limits<double>::quiet_NaN());
}

void write_rows(OpenStore& store, const Estimates& estimates) {
  RowWriter rows(store, store.make_table("estimates", {{"where", OFTString},
                                                       {"stratum", OFTString},
                                                       {"species", OFTString},
                                                       {"measure", OFTString},
                                                       {"value", OFTReal},
                                                       {"standard_error", OFTReal},
                                                       {"limit_low", OFTReal},
                                                       {"limit_high", OFTReal},
                                                       {"confidence_percent", OFTReal},
                                                       {"limits_kind", OFTString},
                                                       {"plots", OFTInteger},
                                                       {"degrees_freedom", OFTReal},
                                                       {"estimator", OFTString},
                                                       {"source", OFTString}}));
  for (const EstimateRow& row : estimates.rows) {
    rows.text(0, row.where);
    rows.text(1, row.stratum);
    rows.text(2, row.species);
    rows.text(3, row.measure);
    rows.real(4, row.value);
    rows.real(5, or_null(row.standard_error));
    rows.real(6, or_null(row.low));
    rows.real(7, or_null(row.high));
    if (row.confidence_percent > 0) rows.real(8, row.confidence_percent);
    rows.text(9, row.limits_kind);
    rows.whole(10, row.plots);
    rows.real(11, or_null(row.degrees_freedom));
    rows.text(12, row.estimator);
    rows.text(13, row.source);
    rows.next();
  }
  rows.finish();
}

void write_ground(OpenStore& store, const Estimates& estimates) {
  RowWriter missing(store, store.make_table("not_counted", {{"where", OFTString},
                                                            {"species", OFTString},
                                                            {"reason", OFTString},
                                                            {"m2", OFTReal},
                                                            {"share", OFTReal},
                                                            {"plots", OFTInteger}}));
  for (const MissingGround& one : estimates.missing) {
    missing.text(0, one.where);
    missing.text(1, one.species);
    missing.text(2, one.reason);
    missing.real(3, one.m2);
    missing.real(4, one.share);
    missing.whole(5, one.plots);
    missing.next();
  }
  missing.finish();
  RowWriter none(store, store.make_table("not_estimated", {{"where", OFTString},
                                                           {"stratum", OFTString},
                                                           {"species", OFTString},
                                                           {"reason", OFTString},
                                                           {"m2", OFTReal}}));
  for (const NotEstimated& one : estimates.not_estimated) {
    none.text(0, one.where);
    none.text(1, one.stratum);
    none.text(2, one.species);
    none.text(3, one.reason);
    none.real(4, one.m2);
    none.next();
  }
  none.finish();
}

}  // namespace

void write_estimates(const std::filesystem::path& file, const Estimates& estimates, const RunRecord& run) {
  OpenStore store(file, OpenStore::Use::write);
  write_rows(store, estimates);
  write_ground(store, estimates);
  add_run(store, run);
  store.commit();
}

}  // namespace swardline
