// What the commands will write: the output folder, its parts, and the store.
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <unistd.h>

#include <memory>

#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

namespace fs = std::filesystem;

void check_folder(const Plan& plan, Flags& flags) {
  fs::path folder = fs::absolute(plan.out);
  std::error_code ignored;
  while (!fs::exists(folder, ignored) && folder.has_relative_path()) folder = folder.parent_path();
  if (!fs::is_directory(folder, ignored)) {
    flags.add(Severity::stop, "output cannot be written", {plan.file.string(), 0, {}},
              fmt::format("{} is a file, where a folder for the output is needed.", folder.string()),
              "Move it away, or change out in the plan.");
    return;
  }
  // Permissions do not tell all (a system folder, a full or read-only disk): a folder made and taken away
  // does.
  std::string probe = (folder / ".swardline-XXXXXX").string();
  if (::mkdtemp(probe.data()) != nullptr) {
    ::rmdir(probe.c_str());
    return;
  }
  flags.add(Severity::stop, "output cannot be written", {plan.file.string(), 0, {}},
            fmt::format("the folder {} cannot be written.", folder.string()),
            "Make it writable for you, or name another folder with out in the plan.");
}

// Folders that score, draw and points make, and the file that stands beside them.
void check_within(const Plan& plan, Flags& flags) {
  std::error_code ignored;
  const auto stop = [&](const fs::path& path, const char* is, const char* needed) {
    flags.add(Severity::stop, "output cannot be written", {plan.file.string(), 0, {}},
              fmt::format("{} is a {}, where a {} of the output is needed.", path.string(), is, needed),
              "Move it away, or change out in the plan.");
  };
  for (const char* name : {"score", "held-down", "styles", "maps", "points"}) {
    const fs::path path = plan.out / name;
    if (fs::exists(path, ignored) && !fs::is_directory(path, ignored)) stop(path, "file", "folder");
  }
  if (fs::is_directory(plan.out / "certificate.json", ignored))
    stop(plan.out / "certificate.json", "folder", "file");
}

// Empty where the file is a store, or nothing that is there.
std::string why_no_store(const fs::path& file) {
  std::error_code ignored;
  if (!fs::exists(file, ignored)) return {};
  if (fs::is_directory(file, ignored)) return "is a folder";
  CPLErrorHandlerPusher const quiet(CPLQuietErrorHandler);
  const char* drivers[] = {"GPKG", nullptr};
  const std::unique_ptr<GDALDataset> dataset(
      GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY, drivers, nullptr, nullptr));
  if (!dataset) return "is not a GeoPackage";
  OGRLayer* runs = dataset->GetLayerByName("runs");
  if (runs == nullptr || runs->GetLayerDefn()->GetFieldIndex("schema_version") < 0)
    return "is a GeoPackage, but not a season's store";
  return {};
}

}  // namespace

void check_files(const Plan& plan, Flags& flags) {
  check_folder(plan, flags);
  check_within(plan, flags);
  if (plan.store.rfind("PG:", 0) == 0) return;
  const std::string why = why_no_store(plan.store);
  if (!why.empty())
    flags.add(Severity::stop, "store is no store", {plan.file.string(), 0, {}},
              fmt::format("{}, named as the store, {}.", plan.store, why),
              "Name another store in the plan: store = \"season.gpkg\".");
}

}  // namespace swardline::check_parts
