#include "swardline/report/block_files.hpp"

#include <cpl_error.h>
#include <fmt/format.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <optional>
#include <tuple>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

struct Row {
  const SiteBlock* block;
  const BlockSpecies* species;
};

std::vector<Row> rows_of(const SeasonBlocks& blocks, const std::string& only) {
  std::vector<Row> rows;
  for (const SiteBlock& block : blocks.blocks)
    for (const BlockSpecies& species : block.species)
      if (only.empty() || species.species == only) rows.push_back({&block, &species});
  const auto key = [](const Row& row) {
    return std::tuple(row.species->species, row.block->site, row.species->rank == 0, row.species->rank);
  };
  std::stable_sort(rows.begin(), rows.end(), [&](const Row& a, const Row& b) { return key(a) < key(b); });
  return rows;
}

/// A column in both files. Numbers that are not there are empty.
struct Column {
  const char* name;
  OGRFieldType type;
  std::string (*text)(const Row&);
  std::optional<double> (*number)(const Row&);
};

std::optional<double> where_scored(const Row& row, double value) {
  return row.species->rank > 0 ? std::optional(value) : std::nullopt;
}

const Column columns[] = {
    {"species", OFTString, [](const Row& r) { return r.species->species; }, nullptr},
    {"site", OFTString, [](const Row& r) { return r.block->site; }, nullptr},
    {"block", OFTString, [](const Row& r) { return r.block->name; }, nullptr},
    {"rank", OFTInteger, nullptr, [](const Row& r) { return where_scored(r, r.species->rank); }},
    {"mean_score", OFTReal, nullptr, [](const Row& r) { return where_scored(r, r.species->mean); }},
    {"ground_m2", OFTReal, nullptr, [](const Row& r) { return std::optional(r.block->ground_m2); }},
    {"scored_m2", OFTReal, nullptr, [](const Row& r) { return std::optional(r.species->scored_m2); }},
    {"excluded_m2", OFTReal, nullptr, [](const Row& r) { return std::optional(r.species->excluded_m2); }},
    {"no_score_m2", OFTReal, nullptr, [](const Row& r) { return std::optional(r.species->no_score_m2); }},
    {"held_down_by", OFTString, [](const Row& r) { return r.species->held_down_by; }, nullptr},
    {"held_down_share", OFTReal, nullptr,
     [](const Row& r) { return where_scored(r, r.species->held_down_share); }},
    {"metres_from_start", OFTReal, nullptr, [](const Row& r) { return r.block->metres; }},
    {"way", OFTString, [](const Row& r) { return r.block->way; }, nullptr},
    {"slope_mean_deg", OFTReal, nullptr, [](const Row& r) { return r.block->slope_mean_deg; }},
    {"slope_steepest_deg", OFTReal, nullptr, [](const Row& r) { return r.block->slope_steepest_deg; }},
    {"caution", OFTString, [](const Row& r) { return r.block->caution; }, nullptr},
    {"chosen", OFTString, [](const Row& r) { return std::string(r.block->chosen ? "yes" : "no"); }, nullptr},
};

/// A thousandth of a square metre, score or metre is more than anybody can use.
std::string rounded(double value) { return shortest(std::round(value * 1000) / 1000); }

[[noreturn]] void fail(const fs::path& path) {
  throw IoError({path.string(), 0, {}}, fmt::format("could not be written: {}", CPLGetLastErrorMsg()),
                "Check the disk's space and the folder's permissions.");
}

void set_polygon(OGRFeature& feature, const Geometry& ground, const fs::path& file) {
  const std::vector<unsigned char> wkb = to_wkb(ground);
  OGRGeometry* geometry = nullptr;
  if (OGRGeometryFactory::createFromWkb(wkb.data(), nullptr, &geometry, wkb.size()) != OGRERR_NONE)
    fail(file);
  feature.SetGeometryDirectly(OGRGeometryFactory::forceToMultiPolygon(geometry));
}

void add_rows(GDALDataset& dataset, const std::vector<Row>& rows, const Crs& crs, const fs::path& file) {
  OGRSpatialReference system;
  if (system.importFromWkt(crs.wkt().c_str()) != OGRERR_NONE) fail(file);
  system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
  OGRLayer* layer = dataset.CreateLayer("blocks", &system, wkbMultiPolygon, nullptr);
  if (layer == nullptr) fail(file);
  for (const Column& column : columns) {
    OGRFieldDefn field(column.name, column.type);
    if (layer->CreateField(&field) != OGRERR_NONE) fail(file);
  }
  for (const Row& row : rows) {
    OGRFeature feature(layer->GetLayerDefn());
    for (const Column& column : columns) {
      if (column.text != nullptr)
        feature.SetField(column.name, column.text(row).c_str());
      else if (const auto value = column.number(row))
        feature.SetField(column.name, *value);
    }
    set_polygon(feature, row.block->ground, file);
    if (layer->CreateFeature(&feature) != OGRERR_NONE) fail(file);
  }
}

}  // namespace

void write_blocks_csv(const SeasonBlocks& blocks, const std::string& species, const fs::path& file) {
  std::string text;
  for (const Column& column : columns) text += (text.empty() ? "" : ",") + std::string(column.name);
  text += "\r\n";
  for (const Row& row : rows_of(blocks, species)) {
    std::string line;
    for (const Column& column : columns) {
      if (&column != columns) line += ',';
      if (column.text != nullptr)
        line += csv_field(column.text(row));
      else if (const auto value = column.number(row))
        line += rounded(*value);
    }
    text += line + "\r\n";
  }
  write_whole(file, text);
}

void write_blocks_gpkg(const SeasonBlocks& blocks, const std::string& species, const Crs& crs,
                       const fs::path& file) {
  // GDAL chooses by suffix and keeps a journal under the name it is given: only publish() sees ".part".
  const fs::path work = file.parent_path() / ("." + file.filename().string());
  std::error_code ignored;
  fs::remove(work, ignored);
  CPLErrorReset();
  const unsigned errors_before = CPLGetErrorCounter();
  try {
    GDALDriver* driver = GetGDALDriverManager()->GetDriverByName("GPKG");
    if (driver == nullptr) throw IoError({}, "GDAL here has no GPKG driver", "Install it.");
    std::unique_ptr<GDALDataset> dataset(driver->Create(work.c_str(), 0, 0, 0, GDT_Unknown, nullptr));
    if (!dataset) fail(file);
    if (dataset->StartTransaction() != OGRERR_NONE) fail(file);
    add_rows(*dataset, rows_of(blocks, species), crs, file);
    if (dataset->CommitTransaction() != OGRERR_NONE) fail(file);
    dataset->FlushCache(true);
    dataset.reset();
    if (CPLGetErrorCounter() != errors_before && CPLGetLastErrorType() >= CE_Failure) fail(file);
    fs::rename(work, part_path(file));
    publish(file);
  } catch (const fs::filesystem_error& error) {
    fs::remove(work, ignored);
    throw IoError({file.string(), 0, {}}, fmt::format("could not be written: {}", error.code().message()),
                  "Check the folder.");
  } catch (...) {
    fs::remove(work, ignored);
    discard_part(file);
    throw;
  }
}

}  // namespace swardline
