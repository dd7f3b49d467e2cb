#include "swardline/report/site_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <functional>
#include <optional>
#include <system_error>

#include "swardline/base/error.hpp"
#include "swardline/base/file_names.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/report/map_cells.hpp"
#include "swardline/report/map_drawing.hpp"
#include "swardline/report/map_layout.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

constexpr double legend_width = 250;
constexpr double least_height = 430;  // what the legend needs

std::string score_heading(const std::string& score_of) {
  if (score_of == "best") return "best score of the species";
  if (score_of == "mean") return "mean score of the species";
  return "score of " + score_of;
}

// The cells of one site: as the draw took them, or read, by a reader that is made when it is first needed.
class SiteGroundCells {
 public:
  explicit SiteGroundCells(std::function<MapCellReader()> reader) : make_(std::move(reader)) {}
  void take(const SiteCells* of_draw) { of_draw_ = of_draw; }
  SiteCells read(const Window& window) {
    if (of_draw_ != nullptr && of_draw_->window == window && !of_draw_->codes.empty()) return *of_draw_;
    if (!reader_) reader_.emplace(make_());
    return reader_->read(window, map_cells);
  }

 private:
  std::function<MapCellReader()> make_;
  std::optional<MapCellReader> reader_;
  const SiteCells* of_draw_ = nullptr;
};

// Ground, cuts and outline of one part; `id` keeps its clipping apart from the other parts'.
std::string map_ground(const Site& site, const Grid& grid, SiteGroundCells& cells, const MapView& view,
                       std::size_t bands, std::size_t id, bool thin) {
  const Window window = intersect(grid.covering(site.survey.box()), grid.covering(view.ground));
  std::string out = fmt::format(
      "<clipPath id=\"sheet{0}\"><rect x=\"{1:.1f}\" y=\"{2:.1f}\" width=\"{3:.1f}\" "
      "height=\"{4:.1f}\"/></clipPath>\n<clipPath id=\"area{0}\"><path d=\"{5}\" "
      "clip-rule=\"evenodd\"/></clipPath>\n<g clip-path=\"url(#sheet{0})\">\n",
      id, view.left, view.top, view.width(), view.height(), svg_path(site.survey, view));
  if (!window.empty())
    out += fmt::format("<g clip-path=\"url(#area{})\" shape-rendering=\"crispEdges\">\n{}</g>\n", id,
                       svg_cells(cells.read(window), grid, view, bands));
  for (const ExcludedPiece& piece : site.excluded)
    out += fmt::format(
        "<path d=\"{}\" fill=\"url(#hatch)\" fill-rule=\"evenodd\" stroke=\"#333\" "
        "stroke-width=\"0.8\"><title>{}</title></path>\n",
        svg_path(piece.area, view), xml_escape(piece.reason));
  return out + fmt::format("<path d=\"{}\" class=\"{}\"/>\n</g>\n", svg_path(site.survey, view),
                           thin ? "thin" : "line");
}

std::string site_map(const Season& season, const Site& site, const Grid& grid, SiteGroundCells& cells,
                     const std::vector<const Plot*>& plots, const std::vector<const Transect*>& transects,
                     const Route& to_wgs84) {
  const std::vector<double>& bands = season.plan.strata.bands;
  const bool of_lines = season.plan.sample.unit == SampleUnit::transect;
  SampleSpec marks = season.plan.sample;
  if (of_lines) marks.size_m = {0, 0};  // a start has no outline of its own
  const MapLayout layout = map_layout(site, plots.size(), season.plan.sample.reach_m());
  const bool in_parts = layout.parts.size() > 1;
  const double side = layout.right + 24;
  const Box box = site.drawn.box();
  const Point middle{(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};

  std::string out = fmt::format(
      "<text class=\"title\" x=\"24\" y=\"28\">{} {}</text>\n<text x=\"24\" y=\"48\">{}, seed {}</text>\n",
      xml_escape(site.code), xml_escape(site.name), xml_escape(season.plan.name), season.plan.seed);
  const Geometry* clear = in_parts ? &site.survey : nullptr;
  std::vector<std::vector<const Plot*>> by_part(layout.parts.size());
  for (const Plot* plot : plots) by_part[layout.part_of({plot->east, plot->north})].push_back(plot);
  NamesShown names = NamesShown::all;
  for (std::size_t i = 0; i < layout.parts.size(); ++i)
    names = std::min(names, readable_names(by_part[i], layout.parts[i], clear));
  for (std::size_t i = 0; i < layout.parts.size(); ++i) {
    const MapView& view = layout.parts[i];
    if (in_parts)
      out += fmt::format(
          "<text class=\"small\" x=\"{0:.1f}\" y=\"{1:.1f}\">part {2} of {3}, {4}</text>\n<rect "
          "class=\"frame\" x=\"{0:.1f}\" y=\"{5:.1f}\" width=\"{6:.1f}\" height=\"{7:.1f}\"/>\n",
          view.left, view.top - 5, i + 1, layout.parts.size(),
          layout.west_to_east ? "from west to east" : "from north to south", view.top, view.width(),
          view.height());
    out += map_ground(site, grid, cells, view, bands.size() + 1, i, in_parts);
    out += svg_transects(transects, view, fmt::format("sheet{}", i));
    out += svg_plots(by_part[i], marks, view, clear, names, fmt::format("sheet{}", i));
  }
  out += svg_legend(bands, score_heading(season.plan.strata.score_of), side, 78,
                    of_lines ? "transect, at its start" : "plot");
  double y = 78 + 20 * double(bands.size() + 5) + 34;
  out += fmt::format("<text class=\"small\" x=\"{:.0f}\" y=\"{:.0f}\">{} will be surveyed</text>\n", side, y,
                     hectares(site.survey_m2));
  for (const ExcludedPiece& piece : site.excluded)
    out += fmt::format("<text class=\"small\" x=\"{:.0f}\" y=\"{:.0f}\">{} cut out: {}</text>\n", side,
                       y += 16, hectares(piece.area.area()), xml_escape(piece.reason));
  if (names != NamesShown::all)
    out += fmt::format(
        "<text class=\"small\" x=\"{:.0f}\" y=\"{:.0f}\">{} left out: see the point files</text>\n", side,
        y += 16, names == NamesShown::none ? "names" : "names of spare plots");
  out += svg_scale_and_north(layout.parts.front().pixels_per_m, drawn_convergence_deg(middle, to_wgs84), side,
                             y + 96);
  const double height = std::max({layout.bottom + 24, y + 136, least_height});
  return fmt::format(
             "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
             "height=\"{1:.0f}\">\n<title>{2} {3}</title>\n<rect width=\"100%\" height=\"100%\" "
             "fill=\"#fff\"/>\n{4}",
             side + legend_width, height, xml_escape(site.code), xml_escape(site.name), svg_definitions()) +
         out + "</svg>\n";
}

void remove_other_maps(const fs::path& folder, const std::vector<fs::path>& maps) {
  std::vector<fs::path> others;
  for (const auto& entry : fs::directory_iterator(folder))
    if (entry.is_regular_file() && entry.path().extension() == ".svg" &&
        std::find(maps.begin(), maps.end(), entry.path()) == maps.end())
      others.push_back(entry.path());
  for (const fs::path& path : others) {
    std::error_code problem;
    if (!fs::remove(path, problem) && problem)
      throw IoError(
          {path.string(), 0, {}},
          fmt::format("is a map of an earlier draw and could not be removed: {}", problem.message()),
          "Remove it, and run again.");
  }
}

/// Maps that are written beside their names; what has not taken its name goes with this.
struct Parts {
  explicit Parts(std::size_t count) : paths(count) {}
  ~Parts() {
    for (const fs::path& path : paths)
      if (!path.empty()) discard_part(path);
  }
  Parts(const Parts&) = delete;
  Parts& operator=(const Parts&) = delete;
  std::vector<fs::path> paths;
};

}  // namespace

std::vector<std::filesystem::path> write_site_maps(const Season& season, const Crs& crs, const Sites& sites,
                                                   const Layers& layers, const Model& model,
                                                   const std::vector<Plot>& plots,
                                                   const std::filesystem::path& folder,
                                                   const std::vector<Transect>& transects, int threads,
                                                   const std::vector<SiteCells>& site_cells,
                                                   const std::function<void()>& first) {
  make_folder(folder);
  std::vector<std::string> codes;
  for (const Site& site : sites.sites) codes.push_back(site.code);
  const std::vector<std::string> names = unique_file_names(codes);
  Parts parts(names.size());
  std::vector<fs::path>& paths = parts.paths;
  in_runs(names.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    const Route to_wgs84(crs, Crs::wgs84());
    SiteGroundCells cells([&] { return MapCellReader(season, layers, model); });
    for (std::size_t i = begin; i < end; ++i) {
      const Site& site = sites.sites[i];
      if (site.survey.empty()) continue;
      std::vector<const Plot*> here;
      for (const Plot& plot : plots)
        if (plot.site == site.code) here.push_back(&plot);
      std::vector<const Transect*> lines;
      for (const Transect& transect : transects) {
        if (transect.unit.site != site.code) continue;
        here.push_back(&transect.unit);
        lines.push_back(&transect);
      }
      paths[i] = folder / (names[i] + ".svg");
      cells.take(i < site_cells.size() ? &site_cells[i] : nullptr);
      write_part(paths[i], site_map(season, site, layers.grid(), cells, here, lines, to_wgs84));
    }
  });
  std::erase_if(paths, [](const fs::path& path) { return path.empty(); });
  if (first) first();
  publish_parts(paths);
  remove_other_maps(folder, paths);
  return paths;
}

}  // namespace swardline
