// Where the plots stand: layers' values at their centres, and mean scores of their ground.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"
#include "swardline/design/plot_area.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/habitat/place_values.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_cells = 4096;  // about a fix: beyond it, its mean says nothing of the plot

std::string tenths(double metres) { return shortest(std::round(metres * 10) / 10) + " m"; }

/// Why nobody can tell which cell a plot stands in; empty where one can.
std::string too_uncertain(const EvaluatedUnit& unit, double fix_distance_m, double cell_m) {
  if (!std::isfinite(unit.east) || !std::isfinite(unit.north)) return "it has no position";
  if (unit.fix_accuracy_m > cell_m)
    return fmt::format("fix accuracy {}, more than a cell of {} m: cannot tell which cell it stands in",
                       tenths(unit.fix_accuracy_m), shortest(cell_m));
  if (fix_distance_m > cell_m)
    return fmt::format(
        "its fix is {} from the plot, more than a cell of {} m: cannot tell which cell was counted",
        tenths(fix_distance_m), shortest(cell_m));
  return {};
}

/// Mean scores of polygons, by cells' covered areas.
class GroundScores {
 public:
  explicit GroundScores(const CompareInputs& inputs)
      : grid_(inputs.layers.grid()),
        reader_(inputs.layers, inputs.model.layers_needed()),
        scorer_(inputs.model, true),
        species_(inputs.model.species().size()) {}

  [[nodiscard]] std::vector<double> mean(const Geometry& polygon) {
    std::vector<double> sums(species_, 0), areas(species_, 0);
    const Window window = polygon.empty() ? Window{} : grid_.covering(polygon.box());
    if (window.empty() || window.cells() > most_cells) return std::vector<double>(species_, not_known);
    reader_.read(window, tile_);
    scorer_.score(tile_, scores_);
    for (std::size_t cell = 0; cell < window.cells(); ++cell) {
      const auto cols = std::size_t(window.cols);
      const Box box =
          grid_.cell_box(window.col + std::int64_t(cell % cols), window.row + std::int64_t(cell / cols));
      const double area = clipped(polygon, box).area();
      if (!(area > 0)) continue;
      for (std::size_t s = 0; s < species_; ++s) {
        const double score = double(scores_.species[s].score[cell]);
        if (std::isnan(score)) continue;
        sums[s] += area * score;
        areas[s] += area;
      }
    }
    for (std::size_t s = 0; s < species_; ++s) sums[s] = areas[s] > 0 ? sums[s] / areas[s] : not_known;
    return sums;
  }

 private:
  const Grid& grid_;
  LayerReader reader_;
  Scorer scorer_;
  std::size_t species_;
  Tile tile_;
  ScoreTile scores_;
};

Geometry circle(Point middle, double radius) {
  if (!(radius > 0)) return {};
  return plot_polygon(UnitShape::circle, {radius, radius}, middle, 0);
}

/// The plot on the ground. A belt whose bearing is not known is taken as a circle of its size; of a verge's
/// segment and a transect only the pin is known.
Geometry ground_of(const EvaluatedUnit& unit, const SampleSpec& sample, bool line, const Route& to_wgs84) {
  const Point pin{unit.east, unit.north};
  if (line || sample.unit == SampleUnit::transect) return {};
  if (sample.shape == UnitShape::circle) return plot_polygon(sample.shape, sample.size_m, pin, 0);
  constexpr double pi = 3.14159265358979323846;
  if (!std::isfinite(unit.bearing_deg)) return circle(pin, std::sqrt(unit.plot_m2 / pi));
  return plot_polygon(sample.shape, sample.size_m, pin, unit.bearing_deg - convergence_deg(pin, to_wgs84));
}

}  // namespace

PlotsOnGround plots_on_ground(const CompareInputs& inputs, const std::vector<std::string>& layer_names) {
  const Grid& grid = inputs.layers.grid();
  const Plan& plan = inputs.season.plan;
  const Route to_wgs84(Crs::from_text(plan.crs, plan.crs_place), Crs::wgs84());
  PlaceValues place(inputs.layers);
  GroundScores ground(inputs);
  std::vector<std::string> lines;
  for (const EvaluatedStratum& stratum : inputs.counted.strata)
    if (stratum.kind == "line") lines.push_back(stratum.id);
  const std::vector<double> none(inputs.model.species().size(), not_known);
  PlotsOnGround out;
  for (std::size_t u = 0; u < inputs.counted.units.size(); ++u) {
    const EvaluatedUnit& unit = inputs.counted.units[u];
    if (!unit.evaluated) continue;
    ComparedPlot plot;
    plot.unit = u;
    const bool fixed = std::isfinite(unit.fix_east) && std::isfinite(unit.fix_north);
    const Point fix = fixed ? Point{unit.fix_east, unit.fix_north} : Point{unit.east, unit.north};
    if (fixed) plot.fix_distance_m = metres_between(fix, {unit.east, unit.north});
    plot.set_aside = too_uncertain(unit, plot.fix_distance_m, grid.cell_m);
    if (std::isfinite(unit.east) && std::isfinite(unit.north)) {
      place.move_to(grid.col_of(unit.east), grid.row_of(unit.north));
      for (const std::string& name : layer_names) plot.values.push_back(place.of(name));
      const bool line = std::find(lines.begin(), lines.end(), unit.stratum) != lines.end();
      out.over_plot.push_back(ground.mean(ground_of(unit, plan.sample, line, to_wgs84)));
      out.over_fix.push_back(ground.mean(circle(fix, unit.fix_accuracy_m)));
    } else {
      plot.values.assign(layer_names.size(), LayerValue{{}, {}, true});
      out.over_plot.push_back(none);
      out.over_fix.push_back(none);
    }
    out.plots.push_back(std::move(plot));
  }
  return out;
}

CellScore score_at(const Sheet& sheet, const ComparedPlot& plot,
                   const std::vector<std::string>& layer_names) {
  return score_cell(sheet, [&](const std::string& layer) {
    const auto found = std::find(layer_names.begin(), layer_names.end(), layer);
    if (found == layer_names.end()) return LayerValue{{}, {}, true};
    return plot.values[std::size_t(found - layer_names.begin())];
  });
}

Sheet with_factor_at_best(const Sheet& sheet, std::size_t factor) {
  Sheet best = sheet;
  Response& response = best.factors[factor].response;
  if (std::holds_alternative<ClassTable>(response))
    response = ClassTable{{}, {}, 1.0};
  else
    response = Polyline{{{0.0, 1.0}}};
  return best;
}

}  // namespace swardline
