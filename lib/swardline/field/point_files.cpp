#include "swardline/field/point_files.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/error.hpp"
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

// A file of an earlier draw left beside the new ones would be loaded into a unit by mistake.
void remove_older(const std::filesystem::path& out, const std::string& format,
                  const std::vector<PointFile>& written) {
  for (const auto& entry : std::filesystem::directory_iterator(out)) {
    const std::string name = entry.path().filename().string();
    if (entry.path().extension() != "." + format ||
        (name.rfind("plots.", 0) != 0 && name.rfind("plots-", 0) != 0))
      continue;
    const bool ours = std::any_of(written.begin(), written.end(), [&](const PointFile& file) {
      return file.path.filename() == entry.path().filename();
    });
    if (!ours) std::filesystem::remove(entry.path());
  }
}

}  // namespace

std::vector<const Plot*> walk_of(const PointLoad& load, const std::string& site) {
  std::vector<const Plot*> walk;
  for (const Plot* plot : load.plots)
    if (plot->site == site && !plot->spare) walk.push_back(plot);
  std::sort(walk.begin(), walk.end(), [](const Plot* a, const Plot* b) { return a->walk < b->walk; });
  return walk;
}

std::vector<PointFile> write_points(const FieldPlots& field, const PointsSpec& spec,
                                    const std::filesystem::path& out) {
  std::vector<SiteName> names;
  std::vector<std::string> sites;
  for (const Plot& plot : field.plots) {
    names.push_back({plot.site, plot.name});
    sites.push_back(plot.site);
  }
  std::sort(sites.begin(), sites.end());
  sites.erase(std::unique(sites.begin(), sites.end()), sites.end());
  const std::map<std::string, std::string> on_unit = fit_names(names, spec.name_profile);

  struct Job {
    std::string stem;
    PointLoad load;
  };
  std::vector<Job> jobs;
  const auto add_jobs = [&](const std::string& stem, const std::string& title, std::vector<PointLoad> loads) {
    for (std::size_t i = 0; i < loads.size(); ++i) {
      const std::string part = loads.size() > 1 ? fmt::format("-{}", i + 1) : "";
      loads[i].title = loads.size() > 1 ? fmt::format("{} ({} of {})", title, i + 1, loads.size()) : title;
      loads[i].on_unit = on_unit;
      jobs.push_back({stem + part, std::move(loads[i])});
    }
  };
  add_jobs("plots", field.season, loads_of_all(field, sites, spec.points_per_file));
  if (sites.size() > 1)
    for (const std::string& site : sites) {
      const auto name = field.site_names.find(site);
      add_jobs("plots-" + safe_file_name(site),
               name == field.site_names.end() ? site : site + " " + name->second,
               loads_of_all(field, {site}, spec.points_per_file));
    }

  make_folder(out);
  std::vector<PointFile> files;
  for (const std::string& format : spec.formats) {
    for (const Job& job : jobs) {
      const std::filesystem::path path = out / (job.stem + "." + format);
      write_one(path, format, field, job.load, spec);
      PointFile file{path, format, int(job.load.plots.size()), 0};
      file.largest_difference_m = largest_difference(job.load, read_points_back(path, format), path);
      files.push_back(std::move(file));
    }
    remove_older(out, format, files);
  }
  return files;
}

}  // namespace swardline
