// The demo valley's vector files: as a programme receives them, with the trouble in, and put right.
#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "valley.hpp"
#include "vector_file.hpp"

namespace swardline::landscape {
namespace {

using Ring = std::vector<Spot>;

constexpr const char* kInvented = "invented";

Spot middle_of(const std::string& code) {
  const Box box = box_of(valley_site(code).rings);
  return {(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2};
}

Drawn drawn_site(const ValleySite& site, std::vector<Ring> rings) {
  return {std::move(rings),
          {{"code", site.code},
           {"name", site.name},
           {"habitat", site.habitat},
           {"owner", site.owner},
           {"remark", kInvented}}};
}

DrawnLayer sites_layer(const std::string& name) {
  return {name, Shape::area, {"code", "name", "habitat", "owner", "remark"}, {}};
}

// Gravel Slough as received: its western part drawn over Hadrel Bottoms by 0.6 ha, and two corners of
// the eastern part taken in the wrong order, so that the ring crosses itself.
std::vector<Ring> gravel_slough_as_received() {
  constexpr double kOverlap = 6000;
  const auto& hadrel = valley_site("HDR").rings;
  std::vector<Ring> rings = valley_site("GRV").rings;
  const Ring west = rings[0];
  const Box box = box_of({west});
  double low = 0, high = 300;
  for (int i = 0; i < 40; ++i) {
    const double pull = (low + high) / 2;
    for (std::size_t j = 0; j < west.size(); ++j) {
      if (west[j].x < (box.x0 + box.x1) / 2) rings[0][j].x = west[j].x - pull;
    }
    (shared_area({rings[0]}, hadrel) < kOverlap ? low : high) = pull;
  }
  for (Spot& s : rings[0]) s.x = std::floor(s.x * 100 + 0.5) / 100;
  std::swap(rings[1][5], rings[1][6]);
  return rings;
}

// NAD27 numbers of zone 14: about 31.3 m more east and 208.9 m less north than NAD83 hereabouts. A fixed
// shift (good to a centimetre over a site) keeps the file the same whatever datum grids are installed.
std::vector<Ring> in_nad27(std::vector<Ring> rings) {
  for (Ring& ring : rings) {
    for (Spot& s : ring) s = {s.x + 31.30, s.y - 208.86};
  }
  return rings;
}

// Pell Road's middle line as its authority might have it: a feature every 200 m with the width of the verge
// on each side.
DrawnLayer verges_layer() {
  const ValleySite& site = valley_site("PEL");
  DrawnLayer layer{
      "verges", Shape::line, {"code", "name", "habitat", "owner", "left_m", "right_m", "remark"}, {}};
  for (const RoadStretch& stretch : pell_road_stretches()) {
    Drawn feature = drawn_site(site, {stretch.line});
    feature.fields["left_m"] = shortest(stretch.left_m);
    feature.fields["right_m"] = shortest(stretch.right_m);
    layer.features.push_back(std::move(feature));
  }
  return layer;
}

Ring strip(Spot a, Spot b, double width) {
  const double dx = b.x - a.x, dy = b.y - a.y, length = std::sqrt(dx * dx + dy * dy);
  const double nx = -dy / length * width / 2, ny = dx / length * width / 2;
  return {{a.x + nx, a.y + ny}, {b.x + nx, b.y + ny}, {b.x - nx, b.y - ny}, {a.x - nx, a.y - ny}};
}

// An eight-sided pond whose outline, grown by the plan's 3 m, takes the wanted square metres.
Ring pond(Spot middle, double grown_m2) {
  // Regular octagon with inner radius r: area 8 tan(22.5°) r²; grown by b its area gains perimeter·b + π b².
  constexpr double kTan = 0.41421356237309505, kBuffer = 3, kPi = 3.14159265358979;
  const double a = 8 * kTan, b = 16 * kTan * kBuffer, c = kPi * kBuffer * kBuffer - grown_m2;
  const double r = (-b + std::sqrt(b * b - 4 * a * c)) / (2 * a), s = r * kTan;
  Ring ring;
  for (const Spot corner : {Spot{r, s}, Spot{s, r}, Spot{-s, r}, Spot{-r, s}, Spot{-r, -s}, Spot{-s, -r},
                            Spot{s, -r}, Spot{r, -s}}) {
    ring.push_back({middle.x + corner.x, middle.y + corner.y});
  }
  return ring;
}

Drawn cut_out(Ring ring, const char* site, const char* what) {
  return {{std::move(ring)}, {{"site", site}, {"what", what}, {"remark", kInvented}}};
}

// Pell Road where it meets the creek.
std::size_t bridge_at(const Land& land) {
  const auto& road = pell_road();
  const View around{static_cast<std::int64_t>(road[0].x / 10), static_cast<std::int64_t>(road[0].y / 10), 340,
                    80, 10};
  const auto creeks = land.waters().creeks(around);
  std::size_t at = 0;
  double least = 1e30;
  for (std::size_t i = 0; i < road.size(); ++i) {
    const double away = nearest(creeks, 1e6, road[i]);
    if (away < least) {
      least = away;
      at = i;
    }
  }
  return at;
}

struct CutOuts {
  std::vector<Drawn> ponds, no_entry, bridges;
};

CutOuts cut_outs(const Land& land) {
  const Spot candlerock = middle_of("CND"), arnley = middle_of("ANL"), tanyard = middle_of("TNY");
  const auto& road = pell_road();
  const std::size_t bridge = bridge_at(land);
  return {
      {cut_out(pond({candlerock.x - 28, candlerock.y - 12}, 4000), "CND",
               "pond dug after the land cover was mapped"),
       cut_out(pond({tanyard.x + 95, tanyard.y - 40}, 900), "TNY", "stock pond")},
      {cut_out(strip({candlerock.x + 10, candlerock.y + 50}, {candlerock.x + 72, candlerock.y - 28.4}, 20),
               "CND", "cliff"),
       cut_out(strip({arnley.x - 260, arnley.y + 120}, {arnley.x + 260, arnley.y + 45}, 12), "ANL",
               "power line strip"),
       cut_out(strip({tanyard.x - 120, tanyard.y + 90}, {tanyard.x - 98, tanyard.y + 92}, 13), "TNY",
               "barn and yard")},
      {cut_out(strip(road[bridge - 1], road[bridge + 1], 24), "PEL", "bridge")}};
}

void write_cut_outs(const std::filesystem::path& folder, const CutOuts& cut) {
  const std::vector<std::string> fields = {"site", "what", "remark"};
  const auto write = [&](const char* file, const char* layer, const std::vector<Drawn>& features) {
    write_geopackage(folder / file, kValleyCrs, {{layer, Shape::area, fields, features}});
  };
  write("ponds.gpkg", "ponds", cut.ponds);
  write("no-entry.gpkg", "no_entry", cut.no_entry);
  write("bridges.gpkg", "bridges", cut.bridges);
}

Drawn access_point(Spot spot, const std::string& site, const char* what) {
  return {{{spot}}, {{"site", site}, {"what", what}, {"remark", kInvented}}};
}

void write_access(const std::filesystem::path& folder, const Land& land) {
  const std::vector<std::string> fields = {"site", "what", "remark"};
  DrawnLayer parking{"parking", Shape::point, fields, {}};
  for (const ValleySite& site : valley_sites()) {
    const Box box = box_of(site.rings);
    Spot spot{std::floor(box.x0 + 0.3 * (box.x1 - box.x0)), std::floor(box.y0 - 20)};
    if (site.code == "PEL") spot = {pell_road().front().x - 15, pell_road().front().y};
    parking.features.push_back(access_point(spot, site.code, "parking"));
  }
  const Box arnley = box_of(valley_site("ANL").rings);
  const Spot ditch = middle_of("ANL");
  const Box ninebark = box_of(valley_site("NBK").rings);
  const Spot fence = middle_of("NBK");
  const DrawnLayer barriers{
      "barriers",
      Shape::line,
      fields,
      {{{{{arnley.x0 - 10, ditch.y - 30},
          {ditch.x - 60, ditch.y - 12},
          {ditch.x + 70, ditch.y - 25},
          {arnley.x1 + 10, ditch.y - 5}}},
        {{"site", "ANL"}, {"what", "ditch"}, {"remark", kInvented}}},
       {{{{fence.x + 40, ninebark.y0 - 15}, {fence.x + 70, fence.y}, {fence.x + 30, ninebark.y1 + 15}}},
        {{"site", "NBK"}, {"what", "fence without a gate"}, {"remark", kInvented}}}}};
  const DrawnLayer crossings{"crossings",
                             Shape::point,
                             fields,
                             {access_point({ditch.x - 60, ditch.y - 12}, "ANL", "plank over the ditch"),
                              access_point(pell_road()[bridge_at(land)], "PEL", "road bridge")}};
  write_geopackage(folder / "access.gpkg", kValleyCrs, {parking, crossings, barriers});
}

// Where a species is known to be, or not: the cell with this cover and moisture that is nearest a site's
// middle (or a spot so far from it), clear of what is cut out.
struct Known {
  const char* species;
  const char* site;
  std::uint8_t cover;
  int wet_from, wet_to;
  const char* here;
  Spot from_middle = {0, 0};
};

Spot fitting_cell(const Land& land, const CutOuts& cut, const Known& known) {
  const auto& rings = valley_site(known.site).rings;
  const Box box = box_of(rings);
  const auto cell = [](double metres) { return static_cast<std::int64_t>(std::floor(metres / 10)); };
  const View view{cell(box.x0), cell(box.y1) + 1, static_cast<int>(cell(box.x1) - cell(box.x0)) + 1,
                  static_cast<int>(cell(box.y1) - cell(box.y0)) + 1, 10};
  LandTile tile;
  land.make(view, tile);
  Stretch inside;
  inside.rings = rings;
  Stretch closed;
  for (const auto* list : {&cut.ponds, &cut.no_entry, &cut.bridges}) {
    for (const Drawn& drawn : *list) closed.rings.push_back(drawn.parts[0]);
  }
  Spot middle = middle_of(known.site);
  middle = {middle.x + known.from_middle.x, middle.y + known.from_middle.y};
  Spot best;
  double least = 1e30;
  std::size_t i = 0;
  for (int r = 0; r < view.rows; ++r) {
    for (int c = 0; c < view.cols; ++c, ++i) {
      const Spot s{view.x(c), view.y(r)};
      const double away = (s.x - middle.x) * (s.x - middle.x) + (s.y - middle.y) * (s.y - middle.y);
      const bool fits = tile.cover[i] == known.cover && tile.moisture[i] >= known.wet_from &&
                        tile.moisture[i] <= known.wet_to && edge_distance(inside, s) < -5 &&
                        edge_distance(closed, s) > 15;
      if (fits && away < least) {
        least = away;
        best = s;
      }
    }
  }
  if (least > 1e29) throw Defect(std::string("no cell fits the known patch of ") + known.species + ".");
  return best;
}

void write_known_patches(const std::filesystem::path& folder, const Land& land, const CutOuts& cut) {
  const std::vector<Known> all = {{"PALU", "HDR", kBottomlandWoods, 38, 48, "yes"},
                                  {"PTEN", "ANL", kWetMeadow, 34, 44, "yes"},
                                  {"PTUB", "CND", kGlade, 22, 40, "yes"},
                                  // By the northern edge: a boundary read in the wrong datum misses it.
                                  {"PDIG", "QPR", kMoistPrairie, 24, 34, "yes", {-150, 300}},
                                  {"PGRA", "SKP", kDryPrairie, 7, 13, "yes"},
                                  {"PCOB", "CND", kGlade, 9, 16, "yes"},
                                  {"PPAL", "NBK", kOpenWoods, 13, 21, "yes"},
                                  {"PCAL", "DSK", kClosedForest, 18, 22, "yes"},
                                  {"PARK", "FLG", kGlade, 8, 17, "yes"},
                                  {"PHIR", "MRB", kGlade, 13, 22, "yes"},
                                  {"PALU", "SKP", kDryPrairie, 5, 15, "no"},
                                  {"PTEN", "NBK", kOpenWoods, 10, 30, "no"},
                                  {"PTUB", "SKP", kDryPrairie, 5, 15, "no"},
                                  {"PDIG", "CND", kGlade, 8, 15, "no"},
                                  {"PGRA", "HDR", kBottomlandWoods, 38, 52, "no"},
                                  {"PCOB", "HDR", kBottomlandWoods, 38, 52, "no"},
                                  {"PPAL", "ANL", kWetMeadow, 32, 44, "no"},
                                  {"PCAL", "SKP", kDryPrairie, 5, 15, "no"},
                                  {"PARK", "QPR", kOldField, 10, 22, "no"},
                                  {"PHIR", "HDR", kBottomlandWoods, 38, 52, "no"}};
  DrawnLayer patches{"known_patches", Shape::point, {"species", "here", "site", "remark"}, {}};
  for (const Known& known : all) {
    patches.features.push_back(
        {{{fitting_cell(land, cut, known)}},
         {{"species", known.species}, {"here", known.here}, {"site", known.site}, {"remark", kInvented}}});
  }
  write_geopackage(folder / "known-patches.gpkg", kValleyCrs, {patches});
}

/// Ground that Quill Prairie gained for the second season: 6 ha to the south, along the old boundary.
std::vector<Spot> ground_gained(const std::vector<Spot>& ring) {
  double low = ring.front().y;
  for (const Spot& spot : ring) low = std::min(low, spot.y);
  // Of the ring's start nothing is known: begin after a spot that is not on the southern side.
  const auto south = [&](const Spot& spot) { return spot.y < low + 40; };
  const auto north = std::find_if_not(ring.begin(), ring.end(), south);
  std::vector<Spot> turned(north, ring.end());
  turned.insert(turned.end(), ring.begin(), north);
  std::vector<Spot> side;
  std::copy_if(turned.begin(), turned.end(), std::back_inserter(side), south);
  const double hectares = 6, width = std::abs(side.back().x - side.front().x);
  const double down = std::round(hectares * 1e6 / width) / 100;  // to the centimetre
  std::vector<Spot> gained = side;
  for (auto spot = side.rbegin(); spot != side.rend(); ++spot) gained.push_back({spot->x, spot->y - down});
  return gained;
}

/// Quill Prairie in the second season.
DrawnLayer quill_grown() {
  DrawnLayer layer = sites_layer("quill_prairie");
  const ValleySite& quill = valley_site("QPR");
  layer.features.push_back(drawn_site(quill, quill.rings));
  layer.features.push_back(drawn_site(quill, {ground_gained(quill.rings.front())}));
  return layer;
}

}  // namespace

void write_valley_vectors(const std::filesystem::path& folder) {
  const Land land = valley_land();
  const std::filesystem::path received = folder / "received";
  make_folder(received);
  DrawnLayer as_received = sites_layer("sites"), mended = sites_layer("sites");
  DrawnLayer quill = sites_layer("quill-prairie"), skep = sites_layer("skep_east");
  for (const ValleySite& site : valley_sites()) {
    if (site.code == "QPR") {
      quill.features.push_back(drawn_site(site, in_nad27(site.rings)));
    } else if (site.code == "SKP") {
      skep.features.push_back(drawn_site(site, site.rings));
    } else {
      const bool slough = site.code == "GRV";
      as_received.features.push_back(drawn_site(site, slough ? gravel_slough_as_received() : site.rings));
      // As received the verge is two areas; put right it is a line with segments.
      if (site.code != "PEL") mended.features.push_back(drawn_site(site, site.rings));
    }
  }
  write_geopackage(received / "sites-main.gpkg", kValleyCrs, {as_received});
  write_geopackage(received / "skep-east.gpkg", "EPSG:26915", {skep});
  write_unlabelled_shapefile(received / "quill-prairie.shp", quill);
  write_geopackage(folder / "sites-mended.gpkg", kValleyCrs, {mended});
  write_geopackage(folder / "quill-2028.gpkg", kValleyCrs, {quill_grown()});
  write_geopackage(folder / "verges.gpkg", kValleyCrs, {verges_layer()});
  const CutOuts cut = cut_outs(land);
  write_cut_outs(folder, cut);
  write_access(folder, land);
  write_known_patches(folder, land, cut);
}

}  // namespace swardline::landscape
