#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/field/point_files.hpp"
#include "swardline/lines/declination.hpp"

namespace swardline::tool {

Status points_of(const Common& common, const Plan& plan, const Crs& crs,
                 const std::vector<std::string>& formats, CPLJSONObject& json) {
  const Store store(plan.store);
  FieldPlots field;
  field.season = plan.name;
  field.crs_name = crs.name();
  field.plots = store.read_plots();
  // Resting plots and those outside the survey area are not for this season's units.
  std::erase_if(field.plots, [](const Plot& plot) { return !plot.due(); });
  const std::vector<Transect> transects = store.read_transects();
  if (field.plots.empty() && transects.empty())
    throw InputError({plan.store, 0, {}}, "holds no plots",
                     store.read_certificate() ? "The last draw gave none; it said why under SHORT."
                                              : "Draw first: swardline draw " + plan.file.string());
  store.check_drawn_for(plan, crs);
  const Route to_wgs84(crs, Crs::wgs84());
  for (const NamedArea& area : store.read_survey_areas()) {
    field.boundaries[area.code] = to_wgs84.forward(area.area);
    field.site_names[area.code] = area.name;
  }
  const Declination declination(plan.declination);
  for (Plot& plot : field.plots)
    if (const auto degrees = declination.at(plot.lat, plot.lon))
      plot.magnetic_bearing_deg = magnetic_bearing(plot.bearing_deg, *degrees);
  add_transects(field, transects, store.read_reference_lines(), to_wgs84);
  PointsSpec spec = plan.points;
  if (!formats.empty()) spec.formats = formats;
  double largest = 0;
  CPLJSONArray written;
  const std::vector<PointFile> files = write_points(field, spec, plan.out / "points");
  for (const PointFile& file : files) {
    say(common, fmt::format("  {:<44} {:>5} points, read back within {:.3f} m", file.path.string(),
                            file.points, file.largest_difference_m));
    largest = std::max(largest, file.largest_difference_m);
    CPLJSONObject object;
    object.Add("file", file.path.string());
    object.Add("points", file.points);
    object.Add("largest_difference_m", file.largest_difference_m);
    written.Add(object);
  }
  say(common, fmt::format("{} files, every one read back; largest difference {:.3f} m. Positions are WGS84.",
                          files.size(), largest));
  json.Add("points", written);
  return Status::done;
}

std::function<Status()> setup_points(CLI::App& app) {
  struct Options {
    Common common;
    std::vector<std::string> formats;
    std::string profile;
    int per_file = -1;
    int per_route = -1;
  };
  auto options = std::make_shared<Options>();
  add_common(app, options->common);
  app.add_option("--as", options->formats,
                 "gpx, geojson, kml, csv, gpkg; several with commas (default: the plan's)")
      ->delimiter(',')
      ->check(CLI::IsMember({"gpx", "geojson", "kml", "csv", "gpkg"}));
  app.add_option("--name-profile", options->profile, "Longest name the units keep: 6, 8, 10 or free")
      ->check(CLI::IsMember({"6", "8", "10", "free"}));
  app.add_option("--points-per-file", options->per_file, "Points a unit holds; more go to further files")
      ->check(CLI::PositiveNumber);
  app.add_option("--points-per-route", options->per_route, "Points a unit's route holds")
      ->check(CLI::PositiveNumber);
  add_examples(app, "points plan.toml --as gpx",
               "points plan.toml --as gpx,csv --name-profile 6 --points-per-file 500");
  return [options] {
    Flags flags;
    Season season = read_season(options->common.plan, flags);
    flags.throw_if_stopped();
    const FolderLock lock(season.plan.folder);
    if (!options->profile.empty()) season.plan.points.name_profile = options->profile;
    if (options->per_file > 0) season.plan.points.points_per_file = options->per_file;
    if (options->per_route > 0) season.plan.points.points_per_route = options->per_route;
    CPLJSONObject json;
    const Status status =
        points_of(options->common, season.plan, Crs::from_text(season.plan.crs, season.plan.crs_place),
                  options->formats, json);
    add_findings(json, flags);
    print_json(options->common, json);
    return status;
  };
}

}  // namespace swardline::tool
