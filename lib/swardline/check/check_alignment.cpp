#include <cpl_conv.h>
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogr_spatialref.h>

#include <algorithm>
#include <cmath>
#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

// What a raster's header says beyond what Layers keeps.
struct Header {
  const LayerSpec* spec = nullptr;
  Crs crs = Crs::wgs84();
  double gt[6] = {};
  int cols = 0, rows = 0;
  std::string unit;
  [[nodiscard]] bool north_up() const { return gt[2] == 0 && gt[4] == 0 && gt[1] > 0 && gt[5] == -gt[1]; }
  [[nodiscard]] Box box() const { return {gt[0], gt[3] + rows * gt[5], gt[0] + cols * gt[1], gt[3]}; }
};

std::optional<Header> header_of(const LayerSpec& spec) {
  CPLErrorHandlerPusher const quiet(CPLQuietErrorHandler);  // Layers::open has said what is wrong
  const std::unique_ptr<GDALDataset> dataset(GDALDataset::Open(spec.source.c_str(), GDAL_OF_RASTER));
  Header header;
  if (!dataset || spec.band > dataset->GetRasterCount() || dataset->GetGeoTransform(header.gt) != CE_None)
    return {};
  header.spec = &spec;
  header.cols = dataset->GetRasterXSize();
  header.rows = dataset->GetRasterYSize();
  header.unit = dataset->GetRasterBand(spec.band)->GetUnitType();
  try {
    if (!spec.crs.empty()) {
      header.crs = Crs::from_text(spec.crs);
      return header;
    }
    const OGRSpatialReference* own = dataset->GetSpatialRef();
    if (own == nullptr) return {};
    char* text = nullptr;
    const char* options[] = {"FORMAT=WKT2_2018", nullptr};
    own->exportToWkt(&text, options);
    const std::string wkt = text == nullptr ? "" : text;
    CPLFree(text);
    header.crs = Crs::from_text(wkt);
    return header;
  } catch (const Error&) {
    return {};
  }
}

// The units a file names, in the plan's words; empty for those that are not known here.
std::string plan_unit(const std::string& unit) {
  const std::string name = lower_ascii(unit);
  const auto one_of = [&](std::initializer_list<const char*> names) {
    return std::find(names.begin(), names.end(), name) != names.end();
  };
  if (one_of({"m", "metre", "metres", "meter", "meters"})) return "m";
  if (one_of({"ft", "foot", "feet", "us-ft", "us survey foot", "international foot", "ftus"})) return "feet";
  if (one_of({"%", "percent", "pct", "per cent"})) return "percent";
  if (one_of({"deg", "degree", "degrees", "°"})) return "degrees";
  if (one_of({"c", "°c", "degc", "celsius", "degree_celsius"})) return "celsius";
  return {};
}

void check_unit(const Header& header, Flags& flags) {
  const LayerSpec& spec = *header.spec;
  const std::string file = plan_unit(header.unit);
  if (spec.is_classes() || spec.unit.empty() || file.empty() || file == spec.unit) return;
  const bool feet_to_metres = file == "feet" && spec.unit == "m" && std::abs(spec.scale / 0.3048 - 1) < 1e-4;
  const bool fraction = file == "percent" && spec.unit == "fraction" && spec.scale == 0.01;
  if (feet_to_metres || fraction) return;
  flags.add(Severity::stop, "unit declared twice", spec.place,
            fmt::format("{} says its values are in {} (\"{}\"), and the plan says {}.",
                        spec.source.filename().string(), file, header.unit, spec.unit),
            file == "feet" && spec.unit == "m" ? "If the file is right, set scale = 0.3048."
                                               : "Correct the plan or the file.");
}

// Distance of a raster's cell edges from those of another with cells of the same size, in cells, -0.5…0.5.
double offset(double a, double b, double cell) {
  const double cells = (a - b) / cell;
  return cells - std::round(cells);
}

bool same_cells(const Header& a, const Header& b) {
  return a.north_up() && b.north_up() && std::abs(a.gt[1] / b.gt[1] - 1) < 1e-9 && a.crs.same_as(b.crs);
}

bool lines_up(const Header& a, const Header& b) {
  constexpr double slack = 1e-3;  // of a cell
  return std::abs(offset(a.gt[0], b.gt[0], a.gt[1])) < slack &&
         std::abs(offset(a.gt[3], b.gt[3], a.gt[1])) < slack;
}

std::string part_of_cell(double east, double north) {
  const auto half = [](double v) { return std::abs(std::abs(v) - 0.5) < 0.01; };
  const auto none = [](double v) { return std::abs(v) < 0.01; };
  if ((half(east) && (half(north) || none(north))) || (half(north) && none(east))) return "half a cell";
  return fmt::format("{:.2f} of a cell", std::max(std::abs(east), std::abs(north)));
}

void check_cells(const std::vector<Header>& headers, Flags& flags) {
  for (const Header& header : headers) {
    // The layers with cells like these, and those most of them line up with (the first met where two tie).
    const Header* reference = nullptr;
    std::ptrdiff_t most = 0;
    for (const Header& other : headers) {
      if (!same_cells(header, other)) continue;
      const auto with = std::count_if(headers.begin(), headers.end(), [&](const Header& h) {
        return same_cells(other, h) && lines_up(other, h);
      });
      if (with > most) {
        most = with;
        reference = &other;
      }
    }
    if (reference == nullptr || lines_up(header, *reference)) continue;
    const double cell = header.gt[1];
    const double east = offset(header.gt[0], reference->gt[0], cell);
    const double north = offset(header.gt[3], reference->gt[3], cell);
    flags.add(Severity::ask, "cells do not line up", header.spec->place,
              fmt::format("{} lies {} off {} ({:.4g} m east-west, {:.4g} m north-south), and both have cells "
                          "of {} {}: was a cell's corner taken for its middle?",
                          header.spec->name, part_of_cell(east, north), reference->spec->name,
                          std::abs(east) * cell, std::abs(north) * cell, shortest(cell),
                          header.crs.projected() ? "m" : "degrees"),
              "Ask who made it, and mend the raster's corner. As it is, it is warped and may smear.");
  }
}

std::string compass(const Box& from, const Box& to) {
  const double east = (to.x0 + to.x1 - from.x0 - from.x1) / 2;
  const double north = (to.y0 + to.y1 - from.y0 - from.y1) / 2;
  std::vector<std::string> parts;
  if (std::abs(east) >= 500)
    parts.push_back(fmt::format("{:.0f} km {}", std::abs(east) / 1000, east < 0 ? "west" : "east"));
  if (std::abs(north) >= 500)
    parts.push_back(fmt::format("{:.0f} km {}", std::abs(north) / 1000, north < 0 ? "south" : "north"));
  return parts.empty() ? "beside" : in_words(parts) + " of";
}

// The ground of the largest set of layers that meet one of them; the others are named.
std::optional<Box> check_apart(const Layers& layers, Flags& flags) {
  std::vector<Box> boxes;
  std::vector<const LayerInfo*> infos;
  for (const LayerInfo& info : layers.infos()) {
    if (info.derived || info.extent.empty()) continue;
    boxes.push_back(layers.grid().box(info.extent));
    infos.push_back(&info);
  }
  std::size_t centre = 0;
  std::ptrdiff_t most = 0;
  for (std::size_t i = 0; i < boxes.size(); ++i) {
    const auto met =
        std::count_if(boxes.begin(), boxes.end(), [&](const Box& b) { return b.meets(boxes[i]); });
    if (met > most) {
      most = met;
      centre = i;
    }
  }
  if (boxes.empty()) return {};
  Box valley = boxes[centre];
  for (const Box& box : boxes)
    if (box.meets(boxes[centre])) valley.grow(box);
  for (std::size_t i = 0; i < boxes.size(); ++i)
    if (!boxes[i].meets(boxes[centre]))
      flags.add(Severity::stop, "layer lies apart", infos[i]->place,
                fmt::format("layer {} lies {} {} and shares no ground with it.", infos[i]->name,
                            compass(boxes[centre], boxes[i]), infos[centre]->name),
                "Check both files' coordinate systems: another zone, or the wrong file?");
  return valley;
}

}  // namespace

std::optional<Box> check_alignment(const Plan& plan, const Crs& crs, const Layers& layers,
                                   std::vector<std::string>& routes, Flags& flags) {
  std::vector<Header> headers;
  for (const LayerSpec& spec : plan.layers)
    if (auto header = header_of(spec)) headers.push_back(std::move(*header));
  for (const Header& header : headers) {
    check_unit(header, flags);
    if (header.crs.same_as(crs)) continue;
    try {
      const Route route(header.crs, crs, header.box());
      check_route(header.spec->source.filename().string(), header.spec->place, route.in_words(),
                  route.accuracy_m(), routes, flags);
    } catch (const Error&) {
      // Opening the layer has said that there is no way to the plan's system.
    }
  }
  check_cells(headers, flags);
  return check_apart(layers, flags);
}

}  // namespace swardline::check_parts
