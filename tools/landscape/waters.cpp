#include "waters.hpp"

#include <cmath>

#include "noise.hpp"

namespace swardline::landscape {
namespace {

constexpr double kValley = 14000;      // one river to the next
constexpr double kFirstRiver = 11300;  // northing of the river numbered 0, before it winds
constexpr double kRiverWinds = 2000;   // farthest a river strays from its straight course
constexpr double kRiverStep = 40;
constexpr double kCreekApart = 4300;
constexpr double kCreekWinds = 1900;
constexpr double kCreekStep = 50;
constexpr double kCreekLongest = 6200;
constexpr double kSpring = 700;      // water runs from this far down the creek's line
constexpr double kHeadwater = 2000;  // its valley has its full depth from here on
constexpr double kPondApart = 1500;

double held_back(double along) {
  return along < kHeadwater ? -500 * (1 - along / kHeadwater) * (1 - along / kHeadwater) : 0;
}

struct Reach {
  double x0, y0, x1, y1;
};

Reach around(const View& view, double metres) {
  return {view.x(0) - metres, view.y(view.rows - 1) - metres, view.x(view.cols - 1) + metres,
          view.y(0) + metres};
}

double straight_course(std::int64_t river) { return static_cast<double>(river) * kValley + kFirstRiver; }

}  // namespace

Waters::Waters(std::uint64_t seed)
    : river_(seed, "landscape|river"), creek_(seed, "landscape|creek"), pond_(seed, "landscape|pond") {}

std::int64_t Waters::river_at(double y) { return floor_of((y - kFirstRiver) / kValley + 0.5); }

double Waters::river_y(std::int64_t river, double x) const {
  const RandomKey key = river_.under(static_cast<std::uint64_t>(river));
  return straight_course(river) + 1150 * wave(key.under("bends"), x, 5200) +
         420 * wave(key.under("loops"), x, 1700) + 90 * wave(key.under("wiggles"), x, 450);
}

std::vector<Capsule> Waters::rivers(const View& view) const {
  const Reach reach = around(view, kFarFromRiver);
  std::vector<Capsule> shapes;
  const std::int64_t from = floor_of((reach.y0 - kRiverWinds - kFirstRiver) / kValley);
  const std::int64_t to = floor_of((reach.y1 + kRiverWinds - kFirstRiver) / kValley) + 1;
  for (std::int64_t river = from; river <= to; ++river) {
    const RandomKey width = river_.under(static_cast<std::uint64_t>(river)).under("width");
    double x = static_cast<double>(floor_of(reach.x0 / kRiverStep)) * kRiverStep;
    double y = river_y(river, x);
    while (x < reach.x1) {
      const double next = x + kRiverStep;
      const double next_y = river_y(river, next);
      shapes.push_back(
          {x, y, next, next_y, 30 + 12 * wave(width, x, 1300), 30 + 12 * wave(width, next, 1300)});
      x = next;
      y = next_y;
    }
  }
  return shapes;
}

double Waters::creek_x(std::int64_t creek, std::int64_t river, bool northern, double y) const {
  const RandomKey key = creek_.under(static_cast<std::uint64_t>(river))
                            .under(static_cast<std::uint64_t>(creek))
                            .under(northern ? "north" : "south");
  return (static_cast<double>(creek) + chance(key, 0, 0)) * kCreekApart + 700 * wave(key, y, 2400) +
         230 * wave(key.under("bends"), y, 800) + 45 * wave(key.under("wiggles"), y, 260);
}

void Waters::add_creek(std::int64_t creek, std::int64_t river, bool northern, Part part,
                       std::vector<Capsule>& shapes) const {
  const double sign = northern ? 1 : -1;
  const double length =
      (0.55 + 0.45 * chance(creek_.under(static_cast<std::uint64_t>(river)), creek, northern ? 1 : 0)) *
      kCreekLongest;
  double y = straight_course(river) + sign * length;
  double x = creek_x(creek, river, northern, y);
  for (double along = 0; along < length + kRiverWinds; along += kCreekStep) {
    const double next_y = y - sign * kCreekStep;
    const double next = creek_x(creek, river, northern, next_y);
    if (part == Part::hollow) {
      shapes.push_back({x, y, next, next_y, held_back(along), held_back(along + kCreekStep)});
    } else if (along >= kSpring) {
      shapes.push_back({x, y, next, next_y, 2 + 3 * along / length, 2 + 3 * along / length});
    }
    x = next;
    y = next_y;
    if (sign * (y - river_y(river, x)) <= 0) break;  // it has reached the river
  }
}

std::vector<Capsule> Waters::creeks(const View& view) const { return creek_parts(view, Part::water); }

std::vector<Capsule> Waters::hollows(const View& view) const { return creek_parts(view, Part::hollow); }

std::vector<Capsule> Waters::creek_parts(const View& view, Part part) const {
  const Reach reach = around(view, kFarFromWater);
  std::vector<Capsule> shapes;
  const std::int64_t first_river = river_at(reach.y0 - kValley / 2);
  const std::int64_t last_river = river_at(reach.y1 + kValley / 2);
  const std::int64_t first = floor_of((reach.x0 - kCreekWinds) / kCreekApart) - 1;
  const std::int64_t last = floor_of((reach.x1 + kCreekWinds) / kCreekApart) + 1;
  for (std::int64_t river = first_river; river <= last_river; ++river) {
    for (std::int64_t creek = first; creek <= last; ++creek) {
      add_creek(creek, river, false, part, shapes);
      add_creek(creek, river, true, part, shapes);
    }
  }
  return shapes;
}

std::vector<Capsule> Waters::ponds(const View& view) const {
  const Reach reach = around(view, kFarFromWater);
  std::vector<Capsule> shapes;
  for (std::int64_t j = floor_of(reach.y0 / kPondApart) - 1; j <= floor_of(reach.y1 / kPondApart) + 1; ++j) {
    for (std::int64_t i = floor_of(reach.x0 / kPondApart) - 1; i <= floor_of(reach.x1 / kPondApart) + 1;
         ++i) {
      if (chance(pond_, i, j, 0) > 0.4) continue;
      const double x = (static_cast<double>(i) + chance(pond_, i, j, 1)) * kPondApart;
      const double y = (static_cast<double>(j) + chance(pond_, i, j, 2)) * kPondApart;
      const double size = chance(pond_, i, j, 3);
      const double radius = 12 + 45 * size * size;
      // Two overlapping discs look less like a coin than one.
      const double lean = 0.8 * radius * (2 * chance(pond_, i, j, 4) - 1);
      shapes.push_back(disc(x, y, radius));
      shapes.push_back(disc(x + radius * 0.7, y + lean, radius * 0.7));
    }
  }
  return shapes;
}

}  // namespace swardline::landscape
