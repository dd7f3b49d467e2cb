#include "drawn_plots.hpp"

#include <algorithm>

#include "swardline/base/error.hpp"

namespace swardline::landscape {

DrawnSeason read_drawn(const std::filesystem::path& store) {
  const std::unique_ptr<GDALDataset> set(GDALDataset::Open(store.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
  OGRLayer* plots = set ? set->GetLayerByName("plots") : nullptr;
  OGRLayer* sites = set ? set->GetLayerByName("sites") : nullptr;
  if (plots == nullptr || sites == nullptr)
    throw IoError(Place{store.string(), 0, {}}, "holds no plots and sites.", "Draw the season first.");
  DrawnSeason season;
  for (const auto& row : *plots) {
    DrawnPlot plot;
    plot.name = row->GetFieldAsString("name");
    plot.site = row->GetFieldAsString("site");
    plot.stratum = row->GetFieldAsString("stratum");
    plot.status = row->GetFieldAsString("status");
    plot.order = row->GetFieldAsInteger("order");
    plot.spare = row->GetFieldAsInteger("spare") != 0;
    plot.at = {row->GetFieldAsDouble("east"), row->GetFieldAsDouble("north")};
    plot.lat = row->GetFieldAsDouble("lat");
    plot.lon = row->GetFieldAsDouble("lon");
    plot.axis_deg = row->GetFieldAsDouble("grid_bearing");
    plot.inside_m2 = row->GetFieldAsDouble("inside_m2");
    plot.twice_m2 = row->GetFieldAsDouble("twice_m2");
    plot.segment = *row->GetFieldAsString("side") != 0;
    season.plots.push_back(std::move(plot));
  }
  std::sort(season.plots.begin(), season.plots.end(),
            [](const DrawnPlot& a, const DrawnPlot& b) { return a.name < b.name; });
  for (const auto& row : *sites)
    if (const OGRGeometry* area = row->GetGeometryRef())
      season.survey[row->GetFieldAsString("code")].reset(area->clone());
  return season;
}

}  // namespace swardline::landscape
