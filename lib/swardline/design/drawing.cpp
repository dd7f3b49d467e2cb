#include "swardline/design/drawing.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/closeness.hpp"
#include "swardline/geo/point_tree.hpp"

namespace swardline {
namespace {

/// Candidates per plot: more do not spread plots better, and any number fixed beforehand keeps
/// chances equal. The least keeps small draws as free as large ones.
constexpr std::int64_t candidates_per_plot = 20, least_candidates = 200;
/// The closeness rule is harmless up to this share of the mean spacing √(A/n).
constexpr double harmless = 0.3;

std::vector<Point> places(const std::vector<Candidate>& candidates) {
  std::vector<Point> points;
  points.reserve(candidates.size());
  for (const Candidate& c : candidates) points.push_back(c.at);
  return points;
}

void add_pins(StratumDraw& draw, const std::vector<Candidate>& from, const std::vector<std::size_t>& units,
              bool spare) {
  int order = 0;
  for (const std::size_t unit : units) {
    const Candidate& c = from[unit];
    draw.pins.push_back({c.at, c.col, c.row, spare, ++order, c.weight});
  }
}

/// Mean balance of simple random draws of `size` of the points.
double balance_of_random(const std::vector<Point>& points, std::size_t size, const RandomKey& key) {
  const int draws = int(std::clamp<std::size_t>(15'000 / points.size(), 2, 20));
  double sum = 0;
  for (int d = 0; d < draws; ++d) {
    RandomStream random(key.under(std::uint64_t(d)));
    std::vector<Point> left = points;
    for (std::size_t i = 0; i < size; ++i) std::swap(left[i], left[i + random.below(left.size() - i)]);
    left.resize(size);
    sum += balance_index(points, left);
  }
  return sum / draws;
}

/// Balance and nearest pair of the planned pins.
void describe(StratumDraw& draw, const std::vector<Point>& points, const RandomKey& key) {
  std::vector<Point> planned;
  for (const Pin& pin : draw.pins) {
    if (!pin.spare) planned.push_back(pin.at);
  }
  if (planned.empty()) return;
  draw.balance = balance_index(points, planned);
  draw.balance_of_random = balance_of_random(points, planned.size(), key.under("simple random"));
  if (planned.size() < 2) return;
  const PointTree tree(planned);
  double nearest = tree.nearest_squared(0);
  for (std::size_t i = 1; i < planned.size(); ++i)
    nearest = std::min(nearest, tree.nearest_squared(std::uint32_t(i)));
  draw.nearest_pair_m = std::sqrt(nearest);
}

std::size_t count_of(const StratumDraw& draw, bool spare) {
  return std::size_t(
      std::count_if(draw.pins.begin(), draw.pins.end(), [spare](const Pin& p) { return p.spare == spare; }));
}

std::string metres(double m) { return fmt::format("{:.4g} m", m); }

/// What a stratum with so few plots can be used for.
const char* consequence(int planned) {
  return planned == 0   ? "; no estimate can be made for this stratum"
         : planned == 1 ? "; one plot gives an estimate without a standard error"
                        : "";
}

/// Why fewer plots were drawn than asked. Another draw, or plots placed by hand, might fit more, so it
/// is never said that no more would fit.
std::string reason_for_few(const StratumDraw& draw, Ground& ground, const DrawRequest& request) {
  if (draw.method == DrawMethod::lattice) {
    const double mean = double(draw.weighted_mm2) * 1e-6 / double(ground.largest_weight()) /
                        (std::sqrt(3.0) / 2 * request.apart_m * request.apart_m);
    return fmt::format(
        "of a lattice {} apart, laid at random, {} fell on this ground (their number is random, {:.{}f} on "
        "average)",
        metres(request.apart_m),
        draw.lattice_points == 0   ? "no point"
        : draw.lattice_points == 1 ? "one point"
                                   : fmt::format("{} points", draw.lattice_points),
        mean, mean < 10 ? 1 : 0);
  }
  return fmt::format("for the others this draw found no place {} from those drawn", metres(request.apart_m));
}

/// Says what was not drawn, why, and what would let all be drawn.
void say_shortfall(StratumDraw& draw, Ground& ground, const DrawRequest& request, const RandomKey& key) {
  const auto planned = int(count_of(draw, false)), spares = int(count_of(draw, true));
  if (planned < request.planned) {
    // In an open draw the lattice may fit where the plots drawn did not; only less can help then.
    const double below = draw.method == DrawMethod::lattice ? request.apart_m : 0.95 * request.apart_m;
    draw.apart_that_fits_m = apart_that_fits(ground, request.planned, below, key.under("lattice"));
    draw.shortfalls.push_back(fmt::format(
        "{} of {} plots drawn: {}{}; {}", planned, request.planned, reason_for_few(draw, ground, request),
        consequence(planned),
        draw.apart_that_fits_m
            ? fmt::format("about {} would give {}", metres(*draw.apart_that_fits_m), request.planned)
            : fmt::format("no distance worth keeping would give {}", request.planned)));
  }
  if (spares < request.spares) {
    draw.shortfalls.push_back(fmt::format("{} of {} spares drawn: for the others no place was left {} apart",
                                          spares, request.spares, metres(request.apart_m)));
  }
}

/// √(A/n) where plots stand densest: where the weight is largest of the candidates', which are many where
/// it is large.
double mean_spacing(const StratumDraw& draw, const std::vector<Candidate>& candidates, int planned) {
  std::int64_t largest = 1;
  for (const Candidate& c : candidates) largest = std::max(largest, c.weight);
  return std::sqrt(double(draw.weighted_mm2) * 1e-6 / (std::max(1, planned) * double(largest)));
}

std::string departure_in_words(const Departure& departure, double apart_m) {
  return fmt::format(
      "plots {} apart move chances by up to {:.1f} % ({}; standard error {:.1f} %, {} redraws)",
      metres(apart_m), 100 * departure.largest, departure.at_edge ? "along the edge" : "in one of 20 parts",
      100 * departure.error, grouped(departure.redraws));
}

void draw_lattice(StratumDraw& draw, Ground& ground, const DrawRequest& request, const RandomKey& key) {
  draw.method = DrawMethod::lattice;
  const std::vector<Candidate> lattice =
      lattice_to_thin(ground, request.apart_m, request.planned, key.under("lattice"));
  draw.lattice_points = int(lattice.size());
  const int planned = std::min(request.planned, draw.lattice_points);
  const int spares = std::min(request.spares, draw.lattice_points - planned);
  const Chosen chosen = choose(places(lattice), planned, spares, key.under("lattice"));
  add_pins(draw, lattice, chosen.planned, false);
  add_pins(draw, lattice, chosen.spares, true);
  draw.notes.push_back(fmt::format(
      "drawn as a triangular lattice {} apart with random start and turn{}, the number is random: {} points "
      "fell{}",
      metres(request.apart_m),
      ground.frame().weighted()
          ? ", its points kept with chances in proportion to the weight: those stay exact"
          : ": the chance is the same everywhere",
      draw.lattice_points,
      draw.lattice_points > request.planned ? fmt::format(", thinned to {}", planned) : std::string()));
}

}  // namespace

StratumDrawer::StratumDrawer(const Frame& frame) : ground_(std::make_unique<Ground>(frame)) {}
StratumDrawer::~StratumDrawer() = default;
StratumDrawer::StratumDrawer(StratumDrawer&&) noexcept = default;

std::vector<Candidate> StratumDrawer::candidates(std::int64_t count, const RandomKey& key) {
  return ground_->candidates(count, key);
}

StratumDraw StratumDrawer::draw(const DrawRequest& request) {
  if (request.planned < 0 || request.spares < 0) throw Defect("a negative number of plots was asked for");
  StratumDraw draw;
  draw.area_mm2 = ground_->area_mm2();
  draw.weighted_mm2 = ground_->weighted_mm2();
  draw.asked_planned = request.planned;
  draw.asked_spares = request.spares;
  const std::int64_t asked = std::int64_t{request.planned} + request.spares;
  if (asked == 0) return draw;
  if (draw.weighted_mm2 == 0) {
    draw.shortfalls.push_back(fmt::format("0 of {} plots drawn: the stratum has no ground", request.planned));
    return draw;
  }
  const RandomKey key(request.seed, request.stratum);
  draw.candidates = std::max(least_candidates, candidates_per_plot * asked);
  const std::vector<Candidate> candidates = ground_->candidates(draw.candidates, key.under("candidates"));
  const std::vector<Point> points = places(candidates);

  const double spacing = mean_spacing(draw, candidates, request.planned);
  if (request.planned > 1 && request.apart_m > harmless * spacing) {
    const Departure departure = simulate_departure(*ground_, request, draw.candidates, key);
    draw.largest_departure = departure.largest;
    draw.largest_departure_error = departure.error;
    draw.redraws = departure.redraws;
    draw.notes.push_back(departure_in_words(departure, request.apart_m));
    // Where plots often do not fit, the lattice packs them better.
    const bool often_short = departure.short_redraws * 20 > departure.redraws;
    if (often_short) {
      draw.notes.push_back(fmt::format("the plots did not all fit in {} of {} redraws",
                                       grouped(departure.short_redraws), grouped(departure.redraws)));
    }
    if ((departure.beyond_noise || often_short) && request.refuse_when_apart_binds) {
      draw.method = DrawMethod::refused;
      draw.shortfalls.push_back(fmt::format(
          "not drawn: {} apart departs from equal chances by more than 5 % or does not fit, and the plan "
          "says to refuse. Up to {} does no harm with {} plots",
          metres(request.apart_m), metres(std::floor(harmless * spacing * 100) / 100), request.planned));
      return draw;
    }
    if (departure.beyond_noise || often_short) draw_lattice(draw, *ground_, request, key);
  }
  if (draw.method == DrawMethod::pivotal) {
    Chosen chosen = choose(points, request.planned, request.spares, key);
    if (request.apart_m > 0) {
      const KeptApart kept = keep_apart(points, chosen, request.apart_m, request.spares, key);
      draw.replaced_for_closeness = kept.replaced;
      add_pins(draw, candidates, kept.planned, false);
      add_pins(draw, candidates, kept.spares, true);
      if (kept.replaced > 0) {
        draw.notes.push_back(
            fmt::format("{} of {} plots nearer than {} to another were replaced from the spares",
                        kept.replaced, request.planned, metres(request.apart_m)));
      }
    } else {
      add_pins(draw, candidates, chosen.planned, false);
      add_pins(draw, candidates, chosen.spares, true);
    }
  }
  say_shortfall(draw, *ground_, request, key);
  if (request.describe) describe(draw, points, key);
  return draw;
}

StratumDraw draw_units(const std::vector<Point>& units, const DrawRequest& request) {
  if (request.planned < 0 || request.spares < 0) throw Defect("a negative number of units was asked for");
  StratumDraw draw;
  draw.method = DrawMethod::units;
  draw.candidates = std::ssize(units);
  draw.asked_planned = request.planned;
  draw.asked_spares = request.spares;
  const int there = int(units.size());
  const int planned = std::min(request.planned, there);
  const int spares = std::min(request.spares, there - planned);
  const RandomKey key(request.seed, request.stratum);
  const Chosen chosen = choose(units, planned, spares, key);
  std::vector<Candidate> numbered;
  for (const Point& at : units) numbered.push_back({at, std::ssize(numbered), 0});
  add_pins(draw, numbered, chosen.planned, false);
  add_pins(draw, numbered, chosen.spares, true);
  if (planned < request.planned)
    draw.shortfalls.push_back(fmt::format("{} of {} segments drawn: there {} no more{}", planned,
                                          request.planned, there == 1 ? "is" : "are", consequence(planned)));
  if (spares < request.spares)
    draw.shortfalls.push_back(fmt::format("{} of {} spares drawn: {} segments are left once {} are planned",
                                          spares, request.spares, there - planned, planned));
  if (request.describe) describe(draw, units, key);
  return draw;
}

StratumDraw draw_stratum(const Frame& frame, const DrawRequest& request) {
  return StratumDrawer(frame).draw(request);
}

}  // namespace swardline
