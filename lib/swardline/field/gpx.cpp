// GPX 1.1 (TopoGrafix 2004) written by hand: GDAL's writer can set neither the file's
// title nor its creator, and both are what a volunteer sees first. Reading back goes
// through GDAL, so the two check each other.
#include <fmt/format.h>

#include <algorithm>
#include <span>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/field/point_formats.hpp"

namespace swardline {
namespace {

// The schema allows longitudes in [-180, 180): 180 itself is written -180.
double gpx_longitude(double lon) { return lon >= 180 ? lon - 360 : lon; }

std::string position(double lat, double lon) {
  return fmt::format("lat=\"{:.8f}\" lon=\"{:.8f}\"", lat, gpx_longitude(lon));
}

// "plot", "spare", "transect start", "spare transect start"
std::string in_words_of(const Plot& plot) {
  if (plot.kind.empty()) return plot.spare ? "spare" : "plot";
  return (plot.spare ? "spare " : "") + plot.kind;
}

// Short on purpose: old units show a line or two.
std::string waypoint_note(const Plot& plot) {
  std::string note = fmt::format("{}; bearing {:.0f} true", in_words_of(plot), plot.bearing_deg);
  if (plot.magnetic_bearing_deg) note += fmt::format(", {:.0f} magnetic", *plot.magnetic_bearing_deg);
  if (!plot.tape.empty()) note += "; " + plot.tape;
  return note;
}

void add_point(std::string& out, const char* element, const Plot& plot, const PointLoad& load) {
  const std::string indent = std::string(element) == "rtept" ? "    " : "  ";
  out += fmt::format("{}<{} {}>\n", indent, element, position(plot.lat, plot.lon));
  out += fmt::format("{}  <name>{}</name>\n", indent, xml_escape(load.on_unit.at(plot.name)));
  if (std::string(element) == "wpt") {
    if (load.on_unit.at(plot.name) != plot.name)
      out += fmt::format("{}  <cmt>{}</cmt>\n", indent, xml_escape(plot.name));
    out += fmt::format("{}  <desc>{}</desc>\n", indent, xml_escape(waypoint_note(plot)));
  }
  out += fmt::format("{}  <type>{}</type>\n", indent, in_words_of(plot));
  out += fmt::format("{}</{}>\n", indent, element);
}

void add_route(std::string& out, const std::string& name, std::span<const Plot* const> plots,
               const PointLoad& load) {
  out += fmt::format("  <rte>\n    <name>{}</name>\n", xml_escape(name));
  for (const Plot* plot : plots) add_point(out, "rtept", *plot, load);
  out += "  </rte>\n";
}

void add_boundary(std::string& out, const std::string& site, const Geometry& area) {
  out += fmt::format("  <trk>\n    <name>{}</name>\n    <type>boundary</type>\n",
                     xml_escape(site + " boundary"));
  for (const auto& ring : rings_of(area).rings) {
    out += "    <trkseg>\n";
    for (const Point& p : ring) out += fmt::format("      <trkpt {}/>\n", position(p.y, p.x));
    out += "    </trkseg>\n";
  }
  out += "  </trk>\n";
}

void add_line(std::string& out, const FieldLine& line) {
  out += fmt::format("  <trk>\n    <name>{}</name>\n    <type>{}</type>\n", xml_escape(line.name), line.kind);
  for (const std::vector<Point>& part : lines_of(line.line)) {
    out += "    <trkseg>\n";
    for (const Point& p : part) out += fmt::format("      <trkpt {}/>\n", position(p.y, p.x));
    out += "    </trkseg>\n";
  }
  out += "  </trk>\n";
}

}  // namespace

void write_gpx(const std::filesystem::path& path, const FieldPlots& field, const PointLoad& load,
               int points_per_route) {
  std::string out =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<gpx version=\"1.1\" creator=\"swardline\" xmlns=\"http://www.topografix.com/GPX/1/1\" "
      "xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\" "
      "xsi:schemaLocation=\"http://www.topografix.com/GPX/1/1 "
      "http://www.topografix.com/GPX/1/1/gpx.xsd\">\n";
  out += fmt::format("  <metadata>\n    <name>{}</name>\n    <desc>{}</desc>\n  </metadata>\n",
                     xml_escape(load.title),
                     xml_escape(field.season + ". Positions are WGS84: set the unit to WGS84 and degrees."));
  for (const Plot* plot : load.plots) add_point(out, "wpt", *plot, load);
  for (const std::string& site : load.sites) {
    const std::vector<const Plot*> walk = walk_of(load, site);
    const std::size_t step =
        points_per_route > 0 ? std::size_t(points_per_route) : std::max<std::size_t>(1, walk.size());
    const std::size_t parts = (walk.size() + step - 1) / step;
    for (std::size_t part = 0; part < parts; ++part) {
      const std::size_t begin = part * step;
      const std::string name = parts > 1 ? fmt::format("{} walk {}", site, part + 1) : site + " walk";
      add_route(out, name, std::span(walk).subspan(begin, std::min(step, walk.size() - begin)), load);
    }
  }
  for (const std::string& site : load.sites)
    if (const auto found = field.boundaries.find(site); found != field.boundaries.end())
      add_boundary(out, site, found->second);
  for (const FieldLine& line : field.lines)
    if (std::find(load.sites.begin(), load.sites.end(), line.site) != load.sites.end()) add_line(out, line);
  out += "</gpx>\n";
  write_whole(path, out);
}

}  // namespace swardline
