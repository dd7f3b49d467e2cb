// The transects of a season: where they start, which way they run, and what they are on the ground.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>

#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/heights.hpp"
#include "swardline/design/plot_area.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/geo/earth.hpp"
#include "swardline/lines/declination.hpp"
#include "swardline/lines/stake_out.hpp"
#include "swardline/lines/transect.hpp"

namespace swardline::season_parts {
namespace {

Geometry area_of(const Sites& sites, const std::vector<std::size_t>& which) {
  if (which.size() == 1) return sites.sites[which.front()].survey;
  std::vector<Geometry> parts;
  for (const std::size_t i : which) parts.push_back(sites.sites[i].survey);
  return polygons_of(united(parts));
}

/// Where one transect starts and which way it runs.
struct Start {
  Point at, along;
  double ground_m2 = 0;  ///< that starts of this bearing are drawn from
  int order = 0;         ///< from 1; spares apart
  bool spare = false;
};

/// One stratum's transects. Everything random hangs on the stratum, the order and the kind only.
class LineDraw {
 public:
  LineDraw(const Season& season, const Sites& sites, const Layers& layers, const SeasonStrata& ground,
           std::size_t index, const Stratum& stratum, const Route& route)
      : plan_(season.plan),
        spec_(season.plan.transect),
        sites_(sites),
        grid_(layers.grid()),
        ground_(ground),
        index_(index),
        stratum_(stratum),
        route_(route),
        area_(area_of(sites, ground.sites_of(index))),
        chords_(area_),
        heights_(layers),
        declination_(season.plan.declination),
        key_(season.plan.seed, stratum.id) {
    const Box box = area_.box();
    middle_ = {(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
    // To a thousandth of a degree, as for plots: below it machines' sines differ.
    convergence_ = std::round(convergence_deg(middle_, route_) * 1000) / 1000;
  }

  std::vector<Transect> draw(StratumDraw& drawn) {
    std::vector<Start> starts;
    // Of starts that no candidates stand behind nothing tells how even they lie.
    drawn.balance = drawn.balance_of_random = drawn.nearest_pair_m = std::numeric_limits<double>::quiet_NaN();
    if (spec_.lay == TransectSpec::Lay::baseline)
      starts = along_baseline(drawn);
    else if (!spec_.bearing_deg && spec_.boundary == TransectSpec::Boundary::clip)
      starts = from_independent_points(drawn);
    else
      starts = from_spread_points(drawn);
    std::vector<Transect> transects;
    for (const Start& start : starts) transects.push_back(transect(start));
    return transects;
  }

 private:
  [[nodiscard]] bool reflects() const { return spec_.boundary == TransectSpec::Boundary::reflect; }
  [[nodiscard]] RandomStream random(const char* what, bool spare, int order) const {
    return RandomStream(
        key_.under(std::string(what) + (spare ? " of spares" : "")).under(std::uint64_t(order)));
  }
  [[nodiscard]] Point grid_direction(double true_bearing) const {
    return direction(within_circle(std::round((true_bearing - convergence_) * 1000) / 1000));
  }
  [[nodiscard]] Point either_sense(Point along, bool spare, int order) const {
    if (!reflects() || random("sense", spare, order).below(2) == 0) return along;
    return {-along.x, -along.y};
  }

  /// The true bearing of lines across the baseline.
  double bearing_across() {
    switch (spec_.baseline) {
      case TransectSpec::Baseline::bearing:
        return within_circle(spec_.baseline_deg + 90);
      case TransectSpec::Baseline::longest_axis:
        return true_bearing_of(longest_axis(area_), "spreads alike in all directions: it has no longest axis",
                               90);
      case TransectSpec::Baseline::contour:
        break;
    }
    std::optional<Point> rise = heights_.mean_rise(area_);
    // One in a thousand: below it the fit follows errors of the heights.
    if (rise && rise->x * rise->x + rise->y * rise->y < 1e-6) rise.reset();
    return true_bearing_of(rise, "is flat, or its heights are not known: no contour gives a direction", 0);
  }
  /// To a whole degree, which is what a compass can be walked by, and the same on every machine.
  double true_bearing_of(const std::optional<Point>& way, const char* none, double turned) const {
    if (!way)
      throw InputError(plan_.transect.place, fmt::format("{} {}.", spoken(stratum_.id), none),
                       "Write the baseline in degrees from true north.");
    const double grid = std::atan2(way->x, way->y) * 180 / std::numbers::pi;
    return within_circle(std::round(grid + convergence_) + turned);
  }

  std::vector<Start> along_baseline(StratumDraw& drawn) {
    drawn.method = DrawMethod::baseline;
    const double bearing = bearing_across();
    const Point along = grid_direction(bearing), axis{along.y, -along.x};
    const Geometry ground = start_ground(area_, along, spec_);
    const Chords chords(ground);
    std::vector<Start> starts;
    for (const bool spare : {false, true}) {
      const int count = spare ? stratum_.spares : stratum_.planned;
      std::vector<double> across;
      for (int i = 1; i <= count; ++i) across.push_back(random("place along the line", spare, i).uniform());
      const double share = random("place along the baseline", spare, 0).uniform();
      std::vector<Point> places = spread_starts(chords, middle_, axis, share, across);
      if (spare) shuffle(places);
      for (int i = 1; i <= count; ++i)
        starts.push_back(
            {places[std::size_t(i - 1)], either_sense(along, spare, i), ground.area(), i, spare});
    }
    drawn.notes.push_back(
        fmt::format("lines of bearing {:.0f} degrees true{}, spread along a baseline across them: strips of "
                    "one area, at one "
                    "random place of each",
                    bearing, reflects() ? " or the opposite" : ""));
    drawn.start_ground_m2 = ground.area();
    say_ground(ground.area(), drawn);
    return starts;
  }
  /// Spares come into use in order, so any first few of them must be as good as any others.
  void shuffle(std::vector<Point>& places) const {
    RandomStream stream = random("order", true, 0);
    for (std::size_t left = places.size(); left > 1; --left)
      std::swap(places[left - 1], places[std::size_t(stream.below(left))]);
  }

  /// All bearings start from one ground, so the starts can be spread over it as plots are.
  std::vector<Start> from_spread_points(StratumDraw& drawn) {
    const Point fixed = spec_.bearing_deg ? grid_direction(*spec_.bearing_deg) : Point{0, 1};
    const Geometry ground = start_ground(area_, fixed, spec_);
    const PolygonFrame frame(ground, grid_);
    DrawRequest request;
    request.stratum = stratum_.id;
    request.seed = plan_.seed;
    request.planned = stratum_.planned;
    request.spares = stratum_.spares;
    drawn = draw_stratum(frame, request);
    std::vector<Start> starts;
    for (const Pin& pin : drawn.pins) {
      const int order = pin.order;
      const Point along = spec_.bearing_deg ? either_sense(fixed, pin.spare, order)
                                            : grid_direction(random_bearing(pin.spare, order));
      starts.push_back({pin.at, along, ground.area(), order, pin.spare});
    }
    if (spec_.bearing_deg)
      drawn.notes.push_back(fmt::format("lines of bearing {} degrees true{}", shortest(*spec_.bearing_deg),
                                        reflects() ? " or the opposite, by chance" : ""));
    drawn.start_ground_m2 = ground.area();
    say_ground(ground.area(), drawn);
    return starts;
  }
  [[nodiscard]] double random_bearing(bool spare, int order) const {
    return double(random("bearing", spare, order).below(360));
  }

  /// Every bearing has a ground of its own, so each start is drawn by itself.
  std::vector<Start> from_independent_points(StratumDraw& drawn) {
    drawn.method = DrawMethod::independent;
    std::vector<Start> starts;
    double least = 0, most = 0, planned = 0, inverse = 0;
    for (const bool spare : {false, true}) {
      const int count = spare ? stratum_.spares : stratum_.planned;
      for (int i = 1; i <= count; ++i) {
        const Point along = grid_direction(random_bearing(spare, i)), axis{along.y, -along.x};
        const Geometry ground = start_ground(area_, along, spec_);
        RandomStream place = random("start", spare, i);
        const double share = place.uniform(), across = place.uniform();
        starts.push_back(
            {point_at(Chords(ground), middle_, axis, share, across), along, ground.area(), i, spare});
        least = starts.size() == 1 ? ground.area() : std::min(least, ground.area());
        most = std::max(most, ground.area());
        if (spare) continue;
        planned += 1;
        inverse += 1 / ground.area();
      }
    }
    drawn.notes.push_back(
        fmt::format("lines of random bearing, each start drawn by itself from {:.0f} to {:.0f} m² "
                    "(the survey area and what lies a line before it)",
                    least, most));
    drawn.start_ground_m2 = inverse > 0 ? planned / inverse : 0;  // the mean chance is one over it
    return starts;
  }

  void say_ground(double m2, StratumDraw& drawn) const {
    drawn.notes.push_back(
        reflects()
            ? std::string("starts drawn from the survey area; a line that leaves it is folded back, so every "
                          "metre of the area has one expected length")
            : fmt::format("starts drawn from {:.0f} m²: the survey area and what lies a line before it, so "
                          "every square metre of the area has one chance",
                          m2));
  }

  Transect transect(const Start& start) {
    double first = 0;
    if (const FrameRow row = frame_row(spec_); row.slack_m > 0)
      first =
          double(random("frames", start.spare, start.order).below(std::uint64_t(row.slack_m * 1000) + 1)) /
          1000;
    const LaidTransect laid = lay_transect(area_, chords_, start.at, start.along, spec_, first);
    Transect t;
    const double level = laid.parts.empty() ? 0 : laid.parts.back().to;
    const std::optional<Tape> on_ground = Tape::along(laid.start, laid.along, level, heights_.cell_m(),
                                                      [&](Point p) { return heights_.at(p); });
    const Tape tape = on_ground ? *on_ground : Tape::level(level);
    fill_unit(start, laid, t);
    t.start_ground_m2 = start.ground_m2;
    t.length_m = laid.length_m;
    t.tape_m = tape.length();
    t.parts = parts_text(laid, tape);
    StakeOut at{t.unit.lat, t.unit.lon, t.unit.bearing_deg, declination_.at(t.unit.lat, t.unit.lon),
                !on_ground};
    if (at.declination_deg) t.magnetic_bearing_deg = magnetic_bearing(at.bearing_deg, *at.declination_deg);
    for (const std::string& step : stake_out(laid, tape, spec_, at))
      t.stake_out += (t.stake_out.empty() ? "" : " ") + step;
    t.unit.tape = fmt::format("lay {:.1f} m", t.tape_m);
    fill_ground(laid, tape, t);
    return t;
  }

  void fill_unit(const Start& start, const LaidTransect& laid, Transect& t) const {
    Plot& unit = t.unit;
    const double metres = laid.parts.empty() ? 0 : laid.parts.front().length() / 2;
    const Point inside = laid.at(metres);
    unit.site =
        sites_.sites[ground_.site_at(index_, grid_.col_of(inside.x), grid_.row_of(inside.y), inside)].code;
    unit.stratum = stratum_.id;
    unit.order = start.order;
    unit.spare = start.spare;
    unit.status = start.spare ? "spare" : "planned";
    unit.kind = "transect start";
    unit.chance_per_m2 = double(stratum_.planned) / start.ground_m2;
    unit.weight_m2 = start.spare || stratum_.planned == 0 ? 0 : start.ground_m2 / double(stratum_.planned);
    unit.east = std::round(laid.start.x * 1000) / 1000;
    unit.north = std::round(laid.start.y * 1000) / 1000;
    const Point lon_lat = route_.forward(Point{unit.east, unit.north});
    unit.lon = lon_lat.x;
    unit.lat = lon_lat.y;
    const double grid = std::atan2(laid.along.x, laid.along.y) * 180 / std::numbers::pi;
    unit.grid_bearing_deg = within_circle(std::round(grid * 1000) / 1000);
    unit.bearing_deg =
        within_circle(std::round((grid + convergence_deg({unit.east, unit.north}, route_)) * 1000) / 1000);
    unit.inside_m2 = laid.inside_m2;
    unit.twice_m2 = laid.twice_m2;
  }

  void fill_ground(const LaidTransect& laid, const Tape& tape, Transect& t) const {
    const Point end = route_.forward(laid.end);
    t.end_lon = end.x;
    t.end_lat = end.y;
    std::string wkt;
    for (const Stretch& part : laid.parts) {
      const Point a = laid.at(part.from), b = laid.at(part.to);
      wkt += fmt::format("{}({:.3f} {:.3f},{:.3f} {:.3f})", wkt.empty() ? "" : ",", a.x, a.y, b.x, b.y);
    }
    t.line = from_wkt(wkt.empty() ? "MULTILINESTRING EMPTY" : "MULTILINESTRING(" + wkt + ")");
    for (const Station& s : laid.stations) {
      const Point at = laid.at(s.mark.from), lon_lat = route_.forward(at);
      t.stations.push_back({s.number, tape.mark(s.mark.from), s.inside_m2, s.twice_m2, s.folded, at.x, at.y,
                            lon_lat.y, lon_lat.x});
    }
  }

  const Plan& plan_;
  const TransectSpec& spec_;
  const Sites& sites_;
  const Grid grid_;
  const SeasonStrata& ground_;
  std::size_t index_;
  const Stratum& stratum_;
  const Route& route_;
  Geometry area_;
  Chords chords_;
  Heights heights_;
  Declination declination_;
  RandomKey key_;
  Point middle_;
  double convergence_ = 0;
};

}  // namespace

std::vector<Transect> transects_of_stratum(const Season& season, const Crs& crs, const Sites& sites,
                                           const Layers& layers, const SeasonStrata& ground,
                                           std::size_t stratum, const Stratum& numbers, StratumDraw& drawn,
                                           std::string& route_words) {
  drawn.area_mm2 = numbers.area_mm2;
  if (numbers.planned + numbers.spares == 0) return {};
  Box box;
  for (const std::size_t i : ground.sites_of(stratum)) {
    const Box site = sites.sites[i].drawn.box();
    i == ground.sites_of(stratum).front() ? box = site : (box.grow(site), box);
  }
  const Route route(crs, Crs::wgs84(), box);
  route_words = route.in_words();
  std::vector<Transect> transects =
      LineDraw(season, sites, layers, ground, stratum, numbers, route).draw(drawn);
  drawn.area_mm2 = numbers.area_mm2;
  return transects;
}

std::vector<Transect> in_site_order(const Sites& sites, const Access& access,
                                    std::vector<Transect> transects) {
  std::vector<Transect> ordered;
  for (const Site& site : sites.sites) {
    std::vector<Transect> here;
    for (Transect& t : transects)
      if (t.unit.site == site.code) here.push_back(std::move(t));
    std::stable_sort(here.begin(), here.end(), [](const Transect& a, const Transect& b) {
      if (a.unit.spare != b.unit.spare) return b.unit.spare;
      return a.unit.order != b.unit.order ? a.unit.order < b.unit.order : a.unit.stratum < b.unit.stratum;
    });
    std::vector<Plot> units;
    for (const Transect& t : here) units.push_back(t.unit);
    walk(site, access, units);
    for (std::size_t i = 0; i < here.size(); ++i) {
      here[i].unit = std::move(units[i]);
      ordered.push_back(std::move(here[i]));
    }
  }
  return ordered;
}

}  // namespace swardline::season_parts
