// Where the demo valley's sites lie and what shape they have. All invented.
#include <algorithm>
#include <cmath>

#include "noise.hpp"
#include "swardline/base/error.hpp"
#include "valley.hpp"

namespace swardline::landscape {
namespace {

using Ring = std::vector<Spot>;

double centimetres(double metres) { return std::floor(metres * 100 + 0.5) / 100; }

double area_of(const Ring& ring) {
  double twice = 0;
  for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
    twice +=
        (ring[j].x - ring[0].x) * (ring[i].y - ring[0].y) - (ring[i].x - ring[0].x) * (ring[j].y - ring[0].y);
  }
  return std::abs(twice) / 2;
}

// Corner cutting (Chaikin 1974): a hand-drawn outline from a few corners, without sin or cos.
Ring rounded(Ring corners, int times) {
  for (int time = 0; time < times; ++time) {
    Ring next;
    for (std::size_t i = 0; i < corners.size(); ++i) {
      const Spot a = corners[i], b = corners[(i + 1) % corners.size()];
      next.push_back({0.75 * a.x + 0.25 * b.x, 0.75 * a.y + 0.25 * b.y});
      next.push_back({0.25 * a.x + 0.75 * b.x, 0.25 * a.y + 0.75 * b.y});
    }
    corners = std::move(next);
  }
  return corners;
}

// The outline scaled to an area and put in its place, to the centimetre.
Ring outline(Spot middle, double hectares, const Ring& corners, int times = 2) {
  Ring ring = rounded(corners, times);
  const double scale = std::sqrt(hectares * 10000 / area_of(ring));
  for (Spot& s : ring) s = {centimetres(middle.x + scale * s.x), centimetres(middle.y + scale * s.y)};
  return ring;
}

// Spots every `step` metres along a line.
std::vector<Spot> walked(const std::vector<Spot>& line, double step, double length) {
  std::vector<Spot> spots;
  double along = 0, next = 0;
  for (std::size_t i = 1; i < line.size() && next <= length; ++i) {
    const double dx = line[i].x - line[i - 1].x, dy = line[i].y - line[i - 1].y;
    const double part = std::sqrt(dx * dx + dy * dy);
    for (; next <= along + part && next <= length; next += step) {
      const double t = (next - along) / part;
      spots.push_back({line[i - 1].x + t * dx, line[i - 1].y + t * dy});
    }
    along += part;
  }
  return spots;
}

// Width of the verge on one side at a spot of the road: 2 to 5 m.
double verge_width(double side, std::size_t spot) {
  const RandomKey width(kValleySeed, side < 0 ? "verge right" : "verge left");
  return 3.5 + 1.5 * wave(width, static_cast<double>(spot) * 20, 140);
}

// The verge on one side as an area: from the edge of the carriageway, 3.5 m off the middle line.
Ring verge(const std::vector<Spot>& road, double side) {
  Ring inner, outer;
  for (std::size_t i = 0; i < road.size(); ++i) {
    const Spot a = road[i == 0 ? 0 : i - 1], b = road[i + 1 == road.size() ? i : i + 1];
    const double dx = b.x - a.x, dy = b.y - a.y, length = std::sqrt(dx * dx + dy * dy);
    const double nx = -side * dy / length, ny = side * dx / length;
    const double wide = verge_width(side, i);
    inner.push_back({centimetres(road[i].x + 3.5 * nx), centimetres(road[i].y + 3.5 * ny)});
    outer.push_back({centimetres(road[i].x + (3.5 + wide) * nx), centimetres(road[i].y + (3.5 + wide) * ny)});
  }
  inner.insert(inner.end(), outer.rbegin(), outer.rend());
  return inner;
}

std::vector<ValleySite> make_sites() {
  std::vector<ValleySite> sites = {
      {"ANL",
       "Arnley Meadow",
       "wet meadow",
       "M. Corvane (invented)",
       {outline({761420, 4210560}, 14,
                {{-190, -150}, {-20, -200}, {180, -170}, {210, 40}, {150, 190}, {-80, 170}, {-200, 60}})}},
      {"CND",
       "Candlerock Glade",
       "dolomite glade",
       "Ambry Valley Land Trust (invented)",
       {outline({764900, 4209300}, 3.1,
                {{-110, -60}, {-40, -95}, {80, -80}, {115, 10}, {70, 85}, {-30, 95}, {-105, 40}})}},
      {"DSK",
       "Dusk Hollow",
       "closed forest",
       "Ambry Valley Land Trust (invented)",
       {outline({756250, 4209150}, 30,
                {{-250, -260}, {60, -330}, {280, -180}, {250, 160}, {90, 330}, {-180, 300}, {-290, 40}})}},
      {"FLG",
       "Flintlatch Glade",
       "sandstone glade",
       "P. Osterlay (invented)",
       {outline({755300, 4215300}, 0.11, {{-24, -10}, {-6, -19}, {18, -14}, {26, 4}, {10, 18}, {-16, 15}})}},
      {"GRV",
       "Gravel Slough",
       "slough edge",
       "Ambry County (invented)",
       {outline(
            {757450, 4211420}, 5,
            {{-50, -330}, {40, -310}, {60, -100}, {45, 120}, {60, 330}, {-50, 340}, {-55, 100}, {-50, -120}},
            1),
        outline({757660, 4211460}, 4,
                {{-45, -280}, {30, -300}, {70, -60}, {55, 200}, {0, 290}, {-55, 150}, {-35, -60}}, 1)}},
      {"HDR",
       "Hadrel Bottoms",
       "wet bottomland woods",
       "Ambry County (invented)",
       {outline({756690, 4211380}, 96,
                {{-700, -150},
                 {-500, -380},
                 {-50, -330},
                 {300, -400},
                 {680, -330},
                 {700, 60},
                 {640, 340},
                 {200, 320},
                 {-200, 390},
                 {-620, 320}})}},
      {"MRB",
       "Marl Bluff",
       "ledges",
       "R. Tolliver (invented)",
       {outline({773560, 4213560}, 4,
                {{-55, -240}, {40, -220}, {62, -40}, {48, 210}, {-40, 235}, {-62, 20}})}},
      {"NBK",
       "Ninebark Woods",
       "open oak woods",
       "D. Harrowgate (invented)",
       {outline({760500, 4206700}, 61,
                {{-420, -300}, {-60, -400}, {380, -330}, {440, 60}, {300, 380}, {-120, 340}, {-440, 180}})}},
      {"PEL", "Pell Road verge", "road verge", "Ambry County (invented)", {}},
      {"QPR",
       "Quill Prairie",
       "moist prairie",
       "L. Fennick (invented)",
       {outline({761950, 4209950}, 42,
                {{-330, -310}, {40, -340}, {340, -280}, {350, 80}, {250, 320}, {-120, 330}, {-345, 210}})}},
      {"SKP",
       "Skep Sand Prairie",
       "dry sand prairie",
       "Ambry Valley Land Trust (invented)",
       {outline({763322, 4213130}, 23,
                {{-320, -140}, {-60, -210}, {260, -180}, {330, 20}, {240, 190}, {-140, 200}, {-330, 90}})}},
      {"TNY",
       "Tanyard Field",
       "old field",
       "A. Quillfeather (invented)",
       {outline({769300, 4207300}, 18, {{-220, -200}, {210, -215}, {225, 60}, {120, 205}, {-205, 195}})}}};
  for (ValleySite& site : sites) {
    if (site.code == "PEL") site.rings = {verge(pell_road(), 1), verge(pell_road(), -1)};
  }
  return sites;
}

}  // namespace

View valley_view() { return {75140, 421700, 2400, 1400, 10}; }

const std::vector<Spot>& pell_road() {
  static const std::vector<Spot> road = [] {
    Ring corners = {{762320, 4210980}, {763050, 4210920}, {763600, 4211060}, {764300, 4210900},
                    {764800, 4210560}, {765700, 4210480}, {766300, 4210330}};
    for (int time = 0; time < 3; ++time) {
      Ring next = {corners.front()};
      for (std::size_t i = 0; i + 1 < corners.size(); ++i) {
        const Spot a = corners[i], b = corners[i + 1];
        next.push_back({0.75 * a.x + 0.25 * b.x, 0.75 * a.y + 0.25 * b.y});
        next.push_back({0.25 * a.x + 0.75 * b.x, 0.25 * a.y + 0.75 * b.y});
      }
      next.push_back(corners.back());
      corners = std::move(next);
    }
    return walked(corners, 20, 3400);
  }();
  return road;
}

std::vector<RoadStretch> pell_road_stretches() {
  constexpr std::size_t spots = 10;  // 200 m
  const auto tenths = [](double metres) { return std::floor(metres * 10 + 0.5) / 10; };
  const std::vector<Spot>& road = pell_road();
  std::vector<RoadStretch> stretches;
  for (std::size_t i = 0; i + 1 < road.size(); i += spots) {
    RoadStretch stretch;
    const std::size_t end = std::min(i + spots, road.size() - 1);
    for (std::size_t k = i; k <= end; ++k)
      stretch.line.push_back({centimetres(road[k].x), centimetres(road[k].y)});
    stretch.left_m = tenths(verge_width(1, (i + end) / 2));
    stretch.right_m = tenths(verge_width(-1, (i + end) / 2));
    stretches.push_back(std::move(stretch));
  }
  return stretches;
}

const std::vector<ValleySite>& valley_sites() {
  static const std::vector<ValleySite> sites = make_sites();
  return sites;
}

const ValleySite& valley_site(const std::string& code) {
  for (const ValleySite& site : valley_sites()) {
    if (site.code == code) return site;
  }
  throw Defect("the demo valley has no site " + code + ".");
}

}  // namespace swardline::landscape
