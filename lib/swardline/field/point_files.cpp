#include "swardline/field/point_files.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>
#include <system_error>

#include "swardline/base/error.hpp"
#include "swardline/base/file_names.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/field/names.hpp"
#include "swardline/field/point_formats.hpp"
#include "swardline/geo/earth.hpp"

namespace swardline {
namespace {

constexpr double most_difference_m = 0.2;

std::vector<const Plot*> plots_by_name(const FieldPlots& field, const std::string& site) {
  std::vector<const Plot*> plots;
  for (const Plot& plot : field.plots)
    if (plot.site == site) plots.push_back(&plot);
  std::sort(plots.begin(), plots.end(), [](const Plot* a, const Plot* b) { return a->name < b->name; });
  return plots;
}

// Whole sites go into a load until the unit is full; only a site larger than the unit is split.
std::vector<PointLoad> loads_of_all(const FieldPlots& field, const std::vector<std::string>& sites,
                                    int limit) {
  std::vector<PointLoad> loads(1);
  const std::size_t most = limit > 0 ? std::size_t(limit) : field.plots.size() + 1;
  for (const std::string& site : sites) {
    const std::vector<const Plot*> plots = plots_by_name(field, site);
    if (!loads.back().plots.empty() && loads.back().plots.size() + plots.size() > most) loads.emplace_back();
    for (std::size_t begin = 0; begin < plots.size();) {
      if (loads.back().plots.size() == most) loads.emplace_back();
      const std::size_t count = std::min(plots.size() - begin, most - loads.back().plots.size());
      loads.back().plots.insert(loads.back().plots.end(), plots.begin() + std::ptrdiff_t(begin),
                                plots.begin() + std::ptrdiff_t(begin + count));
      loads.back().sites.push_back(site);
      begin += count;
    }
  }
  return loads;
}

double largest_difference(const PointLoad& load, const std::map<std::string, Point>& back,
                          const std::filesystem::path& path) {
  if (back.size() != load.plots.size())
    throw Defect(fmt::format("{} holds {} points when read back, {} were written", path.string(), back.size(),
                             load.plots.size()));
  double largest = 0;
  for (const Plot* plot : load.plots) {
    const auto found = back.find(load.on_unit.at(plot->name));
    if (found == back.end())
      throw Defect(fmt::format("{} lost {} when read back", path.string(), plot->name));
    largest = std::max(largest, geodesic({plot->lon, plot->lat}, found->second).metres);
  }
  if (!(largest < most_difference_m))
    throw Defect(fmt::format("{} is {:.2f} m off when read back", path.string(), largest));
  return largest;
}

void write_one(const std::filesystem::path& path, const std::string& format, const FieldPlots& field,
               const PointLoad& load, const PointsSpec& spec) {
  if (format == "gpx")
    write_gpx(path, field, load, spec.points_per_route);
  else if (format == "csv")
    write_point_csv(path, field, load);
  else
    write_with_gdal(path, format, field, load);
}

/// One file to be, in every format.
struct Job {
  std::string stem;
  PointLoad load;
};

/// Everything in one file, and each of several sites in its own; what is more than a unit holds in parts.
std::vector<Job> jobs_of(const FieldPlots& field, const std::vector<std::string>& sites, int limit) {
  struct Group {
    std::string stem;
    std::vector<PointLoad> loads;
  };
  std::vector<Group> groups{{"plots", loads_of_all(field, sites, limit)}};
  std::vector<std::string> titles{field.season};
  for (const std::string& site : sites) {
    if (sites.size() == 1) break;
    const auto name = field.site_names.find(site);
    groups.push_back({"plots-" + site, loads_of_all(field, {site}, limit)});
    titles.push_back(name == field.site_names.end() ? site : site + " " + name->second);
  }
  std::set<std::string> whole;
  for (const Group& group : groups)
    if (group.loads.size() == 1) whole.insert(lower_ascii(group.stem));

  std::vector<Job> jobs;
  std::vector<std::string> stems;
  for (std::size_t g = 0; g < groups.size(); ++g) {
    const std::size_t parts = groups[g].loads.size();
    // The first part of site A must not be taken for site A-1.
    const char* between = "-";
    for (std::size_t i = 1; i <= parts && parts > 1; ++i)
      if (whole.count(lower_ascii(fmt::format("{}-{}", groups[g].stem, i))) != 0) between = "-part-";
    for (std::size_t i = 0; i < parts; ++i) {
      PointLoad& load = groups[g].loads[i];
      load.title = parts > 1 ? fmt::format("{} ({} of {})", titles[g], i + 1, parts) : titles[g];
      stems.push_back(parts > 1 ? fmt::format("{}{}{}", groups[g].stem, between, i + 1) : groups[g].stem);
      jobs.push_back({{}, std::move(load)});
    }
  }
  const std::vector<std::string> names = unique_file_names(stems);
  for (std::size_t i = 0; i < jobs.size(); ++i) jobs[i].stem = names[i];
  return jobs;
}

/// Ends and stations carry their transect's name as cut, and their own letter or number.
std::map<std::string, std::string> names_on_unit(const FieldPlots& field, const std::string& profile) {
  std::vector<SiteName> names;
  std::size_t room = 0;
  for (const Plot& plot : field.plots) {
    const auto of = field.belongs_to.find(plot.name);
    if (of == field.belongs_to.end())
      names.push_back({plot.site, plot.name});
    else
      room = std::max(room, plot.name.size() - of->second.size());
  }
  std::map<std::string, std::string> on_unit = fit_names(names, profile, room);
  for (const auto& [name, of] : field.belongs_to) on_unit[name] = on_unit.at(of) + name.substr(of.size());
  return on_unit;
}

/// True for a file this tool wrote: one of its names, and in it what only its own files hold. Whatever else
/// a person keeps in the folder stays.
bool written_by_us(const std::filesystem::directory_entry& entry) {
  const std::string name = entry.path().filename().string();
  if (!entry.is_regular_file() || (name.rfind("plots.", 0) != 0 && name.rfind("plots-", 0) != 0))
    return false;
  const std::string suffix = entry.path().extension().string();
  if (suffix == ".gpx") return read_whole(entry.path()).find("creator=\"swardline\"") != std::string::npos;
  if (suffix != ".geojson" && suffix != ".kml" && suffix != ".csv" && suffix != ".gpkg") return false;
  const std::string content = read_whole(entry.path());
  return content.find("chance_per_m2") != std::string::npos &&
         content.find("held_down_by") != std::string::npos;
}

}  // namespace

int remove_point_files(const std::filesystem::path& out, const std::vector<PointFile>& keep) {
  std::vector<std::filesystem::path> older;
  std::error_code none;  // no folder, no files
  for (const auto& entry : std::filesystem::directory_iterator(out, none)) {
    const bool kept = std::any_of(keep.begin(), keep.end(), [&](const PointFile& file) {
      return file.path.filename() == entry.path().filename();
    });
    if (!kept && written_by_us(entry)) older.push_back(entry.path());
  }
  for (const std::filesystem::path& path : older) {
    std::error_code problem;
    if (!std::filesystem::remove(path, problem) && problem)
      throw IoError(
          {path.string(), 0, {}},
          fmt::format("holds points of an earlier draw and could not be removed: {}", problem.message()),
          "Remove it, and run again.");
  }
  return int(older.size());
}

std::vector<const Plot*> walk_of(const PointLoad& load, const std::string& site) {
  std::vector<const Plot*> walk;
  for (const Plot* plot : load.plots)
    if (plot->site == site && !plot->spare && (plot->kind.empty() || plot->kind == "transect start"))
      walk.push_back(plot);
  std::sort(walk.begin(), walk.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
  return walk;
}

std::vector<PointFile> write_points(const FieldPlots& field, const PointsSpec& spec,
                                    const std::filesystem::path& out) {
  std::vector<std::string> sites;
  for (const Plot& plot : field.plots) sites.push_back(plot.site);
  std::sort(sites.begin(), sites.end());
  sites.erase(std::unique(sites.begin(), sites.end()), sites.end());
  const std::map<std::string, std::string> on_unit = names_on_unit(field, spec.name_profile);

  std::vector<Job> jobs = jobs_of(field, sites, spec.points_per_file);
  for (Job& job : jobs) job.load.on_unit = on_unit;

  make_folder(out);
  std::vector<PointFile> files;
  std::set<std::string> done;
  for (const std::string& format : spec.formats) {
    if (!done.insert(format).second) continue;
    for (const Job& job : jobs) {
      const std::filesystem::path path = out / (job.stem + "." + format);
      write_one(path, format, field, job.load, spec);
      PointFile file{path, format, int(job.load.plots.size()), 0};
      file.largest_difference_m = largest_difference(job.load, read_points_back(path, format), path);
      files.push_back(std::move(file));
    }
  }
  (void)remove_point_files(out, files);
  return files;
}

}  // namespace swardline
