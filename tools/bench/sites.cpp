#include <algorithm>
#include <cmath>
#include <numbers>

#include "bench.hpp"
#include "swardline/base/random.hpp"
#include "vector_file.hpp"

namespace swardline::bench {
namespace {

using landscape::Spot;

double area_of(const std::vector<Spot>& ring) {
  double twice = 0;
  for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++)
    twice += ring[j].x * ring[i].y - ring[i].x * ring[j].y;
  return std::abs(twice) / 2;
}

/// A closed wavy outline of this area about the origin.
std::vector<Spot> outline(double square_metres, RandomStream& random) {
  const double full = 2 * std::numbers::pi;
  const double turn_a = full * random.uniform(), turn_b = full * random.uniform();
  std::vector<Spot> ring;
  for (int i = 0; i < 180; ++i) {
    const double t = full * i / 180;
    const double r = 1 + 0.25 * std::sin(3 * t + turn_a) + 0.15 * std::sin(7 * t + turn_b);
    ring.push_back({r * std::cos(t), r * std::sin(t)});
  }
  const double scale = std::sqrt(square_metres / area_of(ring));
  for (Spot& spot : ring) spot = {spot.x * scale, spot.y * scale};
  return ring;
}

/// Fills a rectangle but for a strip of uneven width along its sides.
std::vector<Spot> compartment(const Spot& low, double width, double height, RandomStream& random) {
  constexpr int points = 40;  // a side
  const auto strip = [&] { return 5 + 40 * random.uniform(); };
  std::vector<Spot> ring;
  const auto along = [](int i) { return (i + 0.5) / points; };
  for (int i = 0; i < points; ++i) ring.push_back({low.x + along(i) * width, low.y + strip()});
  for (int i = 0; i < points; ++i) ring.push_back({low.x + width - strip(), low.y + along(i) * height});
  for (int i = points; i-- > 0;) ring.push_back({low.x + along(i) * width, low.y + height - strip()});
  for (int i = points; i-- > 0;) ring.push_back({low.x + strip(), low.y + along(i) * height});
  return ring;
}

/// "A00" … "Z99": a letter and two digits, three characters as the demo's codes.
std::string code(int i) {
  return std::string(1, char('A' + i / 100)) + char('0' + i / 10 % 10) + char('0' + i % 10);
}

}  // namespace

double make_sites(const SitesJob& job) {
  RandomStream random(RandomKey(job.seed, "bench sites"));
  const int across = int(std::ceil(std::sqrt(double(job.count))));
  const bool all = job.share >= 1;
  const int rows = all ? (job.count + across - 1) / across : across;
  const double column = job.width_m / across, row = job.height_m / rows;
  const double mean = job.share * job.width_m * job.height_m / job.count;
  landscape::DrawnLayer layer{"sites", landscape::Shape::area, {"code", "name"}, {}};
  double total = 0;
  for (int i = 0; i < job.count; ++i) {
    const int down = i / across;
    if (all) {
      const Spot low{job.west + (i % across) * column, job.north - (down + 1) * row};
      const std::vector<Spot> ring = compartment(low, column, row, random);
      layer.features.push_back({{ring}, {{"code", code(i)}, {"name", "Site " + code(i)}}});
      total += area_of(ring);
      continue;
    }
    // From a quarter of the mean to nearly twice it: sites are never of one size. Each keeps to its own
    // rectangle of the ground, so that none overlap.
    const double room = std::min(column, row);
    const double square_metres = std::min(mean * (0.25 + 1.5 * random.uniform()), 0.38 * room * room);
    std::vector<Spot> ring = outline(square_metres, random);
    double reach = 0;
    for (const Spot& spot : ring) reach = std::max(reach, std::hypot(spot.x, spot.y));
    reach = std::min(reach, room / 2);
    const double x = job.west + (i % across + 0.5) * column + (random.uniform() - 0.5) * (column - 2 * reach);
    const double y = job.north - (down + 0.5) * row + (random.uniform() - 0.5) * (row - 2 * reach);
    for (Spot& spot : ring) spot = {x + spot.x, y + spot.y};
    layer.features.push_back({{ring}, {{"code", code(i)}, {"name", "Site " + code(i)}}});
    total += square_metres;
  }
  landscape::write_geopackage(job.out, job.crs, {layer});
  return total;
}

}  // namespace swardline::bench
