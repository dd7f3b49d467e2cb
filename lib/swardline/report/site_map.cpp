#include "swardline/report/site_map.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/report/map_drawing.hpp"

namespace swardline {
namespace {

constexpr double picture_width = 640;
constexpr double picture_height = 620;
constexpr double legend_width = 230;
constexpr int most_cells = 40000;

MapView view_of(const Geometry& area) {
  MapView view;
  view.ground = area.box();
  const double margin = 0.03 * std::max(view.ground.x1 - view.ground.x0, view.ground.y1 - view.ground.y0) + 2;
  view.ground = {view.ground.x0 - margin, view.ground.y0 - margin, view.ground.x1 + margin,
                 view.ground.y1 + margin};
  view.pixels_per_m = std::min(picture_width / (view.ground.x1 - view.ground.x0),
                               picture_height / (view.ground.y1 - view.ground.y0));
  return view;
}

std::string site_map(const Season& season, const Site& site, const Layers& layers, const Model& model,
                     const std::vector<const Plot*>& plots, const Route& to_wgs84) {
  const MapView view = view_of(site.drawn);
  const std::size_t bands = season.plan.strata.bands.size() + 1;
  const MapCells cells =
      map_cells(season, layers, model, layers.grid().covering(site.survey.box()), most_cells);
  const double side = view.left + view.width() + 24;
  const double height = std::max(view.top + view.height() + 46, 420.0);
  const Box& box = view.ground;
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};

  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
      "height=\"{1:.0f}\">\n"
      "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n{2}",
      side + legend_width, height, svg_definitions());
  out += fmt::format(
      "<text class=\"title\" x=\"24\" y=\"28\">{} {}</text>\n<text x=\"24\" y=\"48\">{}, seed {}</text>\n",
      xml_escape(site.code), xml_escape(site.name), xml_escape(season.plan.name), season.plan.seed);
  out += fmt::format(
      "<clipPath id=\"area\"><path d=\"{0}\" clip-rule=\"evenodd\"/></clipPath>\n<g "
      "clip-path=\"url(#area)\">\n{1}</g>\n",
      svg_path(site.survey, view), svg_cells(cells, layers.grid(), view, bands));
  for (const ExcludedPiece& piece : site.excluded)
    out += fmt::format(
        "<path d=\"{}\" fill=\"url(#hatch)\" fill-rule=\"evenodd\" stroke=\"#333\" "
        "stroke-width=\"0.8\"><title>{}</title></path>\n",
        svg_path(piece.area, view), xml_escape(piece.reason));
  out += fmt::format("<path d=\"{}\" class=\"line\"/>\n", svg_path(site.survey, view));
  out += svg_plots(plots, season.plan.sample, view);
  out += svg_legend(season.plan.strata.bands, side, view.top + 14);
  double y = view.top + 14 + 20 * double(bands + 4) + 34;
  out += fmt::format("<text class=\"small\" x=\"{:.0f}\" y=\"{:.0f}\">{} will be surveyed</text>\n", side, y,
                     hectares(site.survey_m2));
  for (const ExcludedPiece& piece : site.excluded)
    out += fmt::format("<text class=\"small\" x=\"{:.0f}\" y=\"{:.0f}\">{} cut out: {}</text>\n", side,
                       y += 16, hectares(piece.area.area()), xml_escape(piece.reason));
  out += svg_scale_and_north(view, convergence_deg(middle, to_wgs84), side, y + 96);
  return out + "</svg>\n";
}

}  // namespace

std::vector<std::filesystem::path> write_site_maps(const Season& season, const Crs& crs, const Sites& sites,
                                                   const Layers& layers, const Model& model,
                                                   const std::vector<Plot>& plots,
                                                   const std::filesystem::path& folder) {
  make_folder(folder);
  const Route to_wgs84(crs, Crs::wgs84());
  std::vector<std::filesystem::path> written;
  for (const Site& site : sites.sites) {
    if (site.survey.empty()) continue;
    std::vector<const Plot*> here;
    for (const Plot& plot : plots)
      if (plot.site == site.code) here.push_back(&plot);
    const std::filesystem::path path = folder / (safe_file_name(site.code) + ".svg");
    write_whole(path, site_map(season, site, layers, model, here, to_wgs84));
    written.push_back(path);
  }
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    if (entry.path().extension() == ".svg" &&
        std::find(written.begin(), written.end(), entry.path()) == written.end())
      std::filesystem::remove(entry.path());
  return written;
}

}  // namespace swardline
