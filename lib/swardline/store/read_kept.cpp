// Plots of earlier seasons that stay, from an earlier store or any point layer.
#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/geo/gdal_errors.hpp"
#include "swardline/geo/vectors.hpp"
#include "swardline/store/geopackage.hpp"
#include "swardline/store/store.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

std::string text(const Feature& feature, const char* field) {
  const auto found = feature.fields.find(field);
  return found == feature.fields.end() ? std::string() : found->second;
}

std::optional<double> number(const Feature& feature, const char* field) {
  const std::string value = text(feature, field);
  double parsed = 0;
  const auto [end, error] = std::from_chars(value.data(), value.data() + value.size(), parsed);
  if (value.empty() || error != std::errc{} || end != value.data() + value.size()) return {};
  return parsed;
}

/// A table of another file, null where it has none.
struct OtherFile {
  std::unique_ptr<GDALDataset> dataset;
  explicit OtherFile(const fs::path& file) {
    const GdalErrors ignored;  // reading the layer itself says what is wrong with the file
    dataset.reset(
        GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY, nullptr, nullptr, nullptr));
  }
  [[nodiscard]] OGRLayer* table(const char* name, const char* column) const {
    OGRLayer* layer = dataset ? dataset->GetLayerByName(name) : nullptr;
    return layer != nullptr && layer->GetLayerDefn()->GetFieldIndex(column) >= 0 ? layer : nullptr;
  }
};

/// What an earlier season's store tells beside its plots.
void read_beside(const OtherFile& file, KeptPlots& kept, std::map<std::string, std::string>& first_season) {
  if (OGRLayer* names = file.table("names", "first_season")) {
    for (const auto& row : *names) {
      kept.names.push_back({row->GetFieldAsString("name"), row->GetFieldAsString("first_season"),
                            row->GetFieldAsString("plot")});
      first_season[kept.names.back().name] = kept.names.back().first_season;
    }
  }
  if (OGRLayer* strata = file.table("strata", "record")) {
    if (const OGRFeatureUniquePtr row{strata->GetNextFeature()})
      kept.record = row->GetFieldAsString("record");
  }
}

Plot plot_of(const Feature& feature, const Plan& plan) {
  const auto refuse = [&](const std::string& problem, const std::string& remedy) {
    throw InputError(feature.place, problem, remedy);
  };
  Plot plot;
  plot.name = text(feature, "name");
  if (plot.name.empty())
    refuse("a plot without a name cannot be kept.", "Give it the name it was counted under.");
  const std::optional<double> chance = number(feature, "chance_per_m2");
  if (!chance || !(*chance > 0))
    refuse(fmt::format("{} has no chance (chance_per_m2): without it nothing can be estimated from the plot.",
                       plot.name),
           "Fill in the plots drawn for each square metre of its stratum; a plot placed by hand has none and "
           "cannot be kept.");
  plot.chance_per_m2 = *chance;
  const std::vector<Point> points = points_of(feature.geometry);
  if (points.size() != 1)
    refuse(fmt::format("{} is not one point.", plot.name), "Keep plots as a point layer.");
  plot.east = points[0].x;
  plot.north = points[0].y;
  const std::optional<double> bearing = number(feature, "bearing");
  if (!bearing && plan.sample.shape != UnitShape::circle && !plan.sample.bearing_deg)
    refuse(fmt::format("{} has no bearing: how it lay is not known.", plot.name),
           "Fill in the true bearing in degrees, or set [sample] bearing where all lay alike.");
  plot.side = text(feature, "side");
  plot.from_m = number(feature, "from_m").value_or(0);
  plot.to_m = number(feature, "to_m").value_or(0);
  const double now_m2 = plot.segment() ? 0 : plan.sample.unit_area_m2();  // segments are as large as they are
  if (const auto then_m2 = number(feature, "plot_m2");
      now_m2 > 0 && then_m2 && std::abs(*then_m2 - now_m2) > 1e-3 * now_m2)
    refuse(fmt::format("{} is a plot of {:.4g} m², and the plan's are of {:.4g} m².", plot.name, *then_m2,
                       now_m2),
           "Put [sample] shape and size_m back: a plot that is kept stays as it was laid out.");
  plot.bearing_deg = bearing ? *bearing : plan.sample.bearing_deg.value_or(0);
  plot.site = text(feature, "site");
  plot.stratum = text(feature, "stratum");
  plot.order = int(number(feature, "order").value_or(0));
  const std::string spare = text(feature, "spare");
  plot.spare = spare == "1" || spare == "true";
  plot.panel = text(feature, "panel");
  plot.panel_chance_per_m2 = number(feature, "panel_chance_per_m2").value_or(0);
  plot.status = text(feature, "status");
  plot.why = text(feature, "why");
  return plot;
}

}  // namespace

KeptPlots read_kept(const Plan& plan, const Crs& crs, Flags& flags) {
  KeptPlots kept;
  if (!plan.sample.keep) return kept;
  const SourceSpec& source = *plan.sample.keep;
  std::error_code unread;
  if (fs::equivalent(source.file, plan.store, unread))
    throw InputError(source.place, "keep names this season's own store, which the draw replaces.",
                     "Name the store of the earlier season, or a copy of it.");
  const OtherFile file(source.file);
  // Private attributes are the sites'; of this file only the columns named above are looked at.
  VectorRequest request{source.file, source.layer, source.crs, {}, source.place};
  if (request.layer.empty() && file.table("plots", "name") != nullptr) request.layer = "plots";
  kept.place = {source.file.filename().string(), 0, {}};
  const VectorLayer layer = read_vectors(request, crs, flags);
  flags.throw_if_stopped();
  for (const char* column : {"name", "chance_per_m2"}) {
    if (layer.features.empty() || layer.features.front().fields.contains(column)) continue;
    throw InputError(kept.place,
                     fmt::format("has no column {}: plots are kept with their names and chances.", column),
                     "Name the store of the earlier season, or add the column.");
  }
  std::map<std::string, std::string> first_season;
  read_beside(file, kept, first_season);
  for (const Feature& feature : layer.features) {
    Plot plot = plot_of(feature, plan);
    const std::string said = text(feature, "first_season");
    const auto known = first_season.find(plot.name);
    plot.first_season = !said.empty()                 ? said
                        : known != first_season.end() ? known->second
                                                      : "before " + plan.name;
    kept.plots.push_back(std::move(plot));
  }
  return kept;
}

}  // namespace swardline
