// The point table for spreadsheets and paper: every notation a sheet or a radio call may need.
#include <fmt/format.h>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/field/point_formats.hpp"
#include "swardline/geo/grid_reference.hpp"

namespace swardline {
namespace {

constexpr const char* header =
    "site,plot,name_on_unit,stratum,order,spare,walk,metres_from_last,chance_per_m2,weight_m2,lat,lon,"
    "degrees_minutes,utm,utm_next_zone,usng,usng_next_zone,datum,plan_east,plan_north,plan_system,bearing_"
    "true,bearing_magnetic,"
    "inside_m2,twice_m2,tape,score,held_down_by,status,why,what,side,from_m,to_m\n";

// The second of two notations, where a zone edge is near.
template <class T, class Text>
std::string second(const std::vector<T>& both, Text text) {
  return both.size() > 1 ? text(both[1]) : std::string();
}

std::string row(const FieldPlots& field, const PointLoad& load, const Plot& p) {
  const std::vector<Utm> zones = utm_near_edge(p.lat, p.lon);
  const std::vector<std::string> grids = usng_near_edge(p.lat, p.lon);
  std::string out;
  const auto add = [&](const std::string& text) { out += (out.empty() ? "" : ",") + text; };
  add(csv_field(p.site));
  add(csv_field(p.name));
  add(csv_field(load.on_unit.at(p.name)));
  add(csv_field(p.stratum));
  add(fmt::format("{}", p.order));
  add(p.spare ? "yes" : "no");
  add(p.walk > 0 ? fmt::format("{}", p.walk) : "");
  add(p.walk > 0 ? fmt::format("{:.0f}", p.metres_from_last) : "");
  add(shortest(p.chance_per_m2));
  add(shortest(p.weight_m2));
  add(fmt::format("{:.8f}", p.lat));
  add(fmt::format("{:.8f}", p.lon));
  add(degrees_minutes(p.lat, p.lon));
  add(utm_text(zones.front()));
  add(second(zones, [](const Utm& u) { return utm_text(u); }));
  add(grids.front());
  add(second(grids, [](const std::string& g) { return g; }));
  add("WGS84");
  add(fmt::format("{:.3f}", p.east));
  add(fmt::format("{:.3f}", p.north));
  add(csv_field(field.crs_name));
  add(fmt::format("{:.1f}", p.bearing_deg));
  add(p.magnetic_bearing_deg ? fmt::format("{:.1f}", *p.magnetic_bearing_deg) : "");
  add(fmt::format("{:.2f}", p.inside_m2));
  add(fmt::format("{:.2f}", p.twice_m2));
  add(csv_field(p.tape));
  add(p.score ? fmt::format("{:.2f}", *p.score) : "");
  add(csv_field(p.held_down_by));
  add(csv_field(p.status));
  add(csv_field(p.why));
  add(!p.kind.empty() ? p.kind : p.spare ? "spare" : "plot");
  add(csv_field(p.side));
  add(p.side.empty() ? "" : fmt::format("{:.1f}", p.from_m));
  add(p.side.empty() ? "" : fmt::format("{:.1f}", p.to_m));
  return out + "\n";
}

}  // namespace

void write_point_csv(const std::filesystem::path& path, const FieldPlots& field, const PointLoad& load) {
  std::string out = header;
  for (const Plot* plot : load.plots) out += row(field, load, *plot);
  write_whole(path, out);
}

}  // namespace swardline
