#include "valley.hpp"

#include <algorithm>
#include <cmath>

namespace habitat_test {

using namespace swardline;

Valley::Valley(int cols, int rows) {
  Numbers numbers(2027);
  for (const char* name : {"cover", "bedrock", "moisture", "canopy", "warmth", "elevation"}) {
    Raster raster;
    raster.cols = cols;
    raster.rows = rows;
    const std::string layer = name;
    if (layer == "warmth" || layer == "elevation") {
      raster.type = Raster::Type::real;
      raster.none = -9999;
    }
    for (int y = 0; y < rows; ++y)
      for (int x = 0; x < cols; ++x) {
        double value = 0;
        if (layer == "cover") value = 1 + (x / 9 + y / 7 + numbers.below(2)) % 12;
        if (layer == "bedrock") value = 1 + (x / 40 + y / 25) % 6;
        if (layer == "moisture") value = std::min(100, (x + 2 * y) / 9 + numbers.below(5));
        if (layer == "canopy") value = (x * 7 + y * 3) / 16 % 101;
        if (layer == "warmth") value = double(float(0.7 + 0.5 * numbers.share()));
        if (layer == "elevation") value = double(float(120 + 0.5 * x + 0.2 * y));
        if (numbers.below(50) == 0 && layer != "cover") value = raster.none;
        raster.values.push_back(value);
      }
    rasters.emplace(layer, std::move(raster));
    write(layer);
  }
  Sheet cobaea = pcob(), tubaeflorus = ptub();
  cobaea.factors[4].layer = tubaeflorus.factors[3].layer = "warmth";
  season = season_in(folder, {cobaea, tubaeflorus},
                     {"cover", "bedrock", "moisture", "canopy", "warmth", "elevation"});
  const Raster& any = rasters.at("cover");
  const auto at = [&](double x, double y) { return Point{any.x0 + x, any.y1 - y}; };
  sites = {
      {"QPR", "Quill Prairie", polygon({at(103, 207), at(1517, 411), at(1303, 1811), at(251, 1403)})},
      {"CND", "Candlerock Glade", polygon({at(1201, 1003), at(2003, 1107), at(1907, 2501), at(1403, 1709)})},
      {"NBK", "Ninebark Woods",
       box_polygon({any.x0 + 2105.25, any.y1 - 600.5, any.x0 + 2950.125, any.y1 - 35.75})}};
}

Layers Valley::open(Flags& flags) const {
  return Layers::open(season.plan, Crs::from_text(season.plan.crs), layers_needed(season), flags);
}

ScoreOptions Valley::options(int threads) const {
  ScoreOptions options;
  options.threads = threads;
  options.out = folder / ("out" + std::to_string(threads));
  options.bands = {0.25, 0.5, 0.75};
  return options;
}

ScoreResult Valley::score(const ScoreOptions& options) const {
  Flags flags;
  const Layers layers = open(flags);
  const Model model = Model::compile(season, layers, flags);
  flags.throw_if_stopped();
  return score_season(season, layers, model, sites, options, flags);
}

LayerValue Valley::value(const std::string& layer, int x, int y) const {
  const Raster& raster = rasters.at(layer);
  const double value = raster.values[std::size_t(y) * std::size_t(raster.cols) + std::size_t(x)];
  LayerValue out;
  out.none = value == raster.none || !std::isfinite(value);
  if (out.none) return out;
  out.number = value;
  if (layer == "cover") out.class_code = cover_classes().at((long long)(value));
  if (layer == "bedrock") out.class_code = bedrock_classes().at((long long)(value));
  return out;
}

namespace {

constexpr double none = std::numeric_limits<double>::quiet_NaN();

double slope_up(double v, double from, double to) { return std::clamp((v - from) / (to - from), 0.0, 1.0); }

/// The number of a layer's cell, NaN without data.
double raw(const Valley& valley, const char* layer, int x, int y) {
  const LayerValue value = valley.value(layer, x, y);
  return value.none ? none : *value.number;
}

double graded(double limiting, double canopy, double warmth) {
  const double wc = std::isnan(canopy) ? 0 : 2, ww = std::isnan(warmth) ? 0 : 1;
  if (wc + ww == 0) return 100 * limiting;
  const double logs = (wc > 0 ? wc * std::log(canopy) : 0) + (ww > 0 ? ww * std::log(warmth) : 0);
  return 100 * std::pow(limiting, 0.6) * std::pow(std::exp(logs / (wc + ww)), 0.4);
}

}  // namespace

double cobaea_by_hand(const Valley& valley, int x, int y) {
  const double cover = raw(valley, "cover", x, y), bedrock = raw(valley, "bedrock", x, y);
  const double moisture = raw(valley, "moisture", x, y), canopy = raw(valley, "canopy", x, y);
  const double warmth = raw(valley, "warmth", x, y);
  if (cover == 1 || cover == 11 || cover == 12 || std::isnan(bedrock) || std::isnan(moisture)) return none;
  const double of_cover = cover == 6    ? 1
                          : cover == 5  ? 0.8
                          : cover == 10 ? 0.5
                          : cover == 7  ? 0.4
                          : cover == 9  ? 0.2
                                        : 0;
  const double of_bedrock = bedrock == 1                   ? 1
                            : bedrock == 6                 ? 0.6
                            : bedrock == 3                 ? 0.5
                            : bedrock == 2 || bedrock == 4 ? 0.1
                                                           : 0;
  const double of_moisture = std::min(slope_up(moisture, 4, 8), 1 - slope_up(moisture, 16, 24));
  return graded(
      std::min({of_cover, of_bedrock, of_moisture}), std::isnan(canopy) ? none : 1 - slope_up(canopy, 25, 60),
      std::isnan(warmth) ? none : std::min(slope_up(warmth, 0.8, 0.95), 1 - slope_up(warmth, 1.1, 1.2)));
}

double tubaeflorus_by_hand(const Valley& valley, int x, int y) {
  const double cover = raw(valley, "cover", x, y), moisture = raw(valley, "moisture", x, y);
  const double canopy = raw(valley, "canopy", x, y), warmth = raw(valley, "warmth", x, y);
  const double elevation = raw(valley, "elevation", x, y);
  if (cover == 1 || cover == 11 || cover == 12 || std::isnan(moisture) || !(elevation < 260)) return none;
  const double of_cover = cover == 3                 ? 1
                          : cover == 4               ? 0.9
                          : cover == 10              ? 0.5
                          : cover == 9 || cover == 7 ? 0.4
                          : cover == 6               ? 0.3
                          : cover == 5               ? 0.2
                                                     : 0;
  const double of_moisture = std::min(slope_up(moisture, 20, 26), 1 - slope_up(moisture, 38, 46));
  return graded(
      std::min(of_cover, of_moisture), std::isnan(canopy) ? none : 1 - slope_up(canopy, 25, 60),
      std::isnan(warmth) ? none : std::min(slope_up(warmth, 0.75, 0.9), 1 - slope_up(warmth, 1.06, 1.15)));
}

}  // namespace habitat_test
