// The closeness rule: plots at least `apart_m` from one another, what that does to equal chances, and
// the lattice that takes over where it does too much. Private to the draw.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "swardline/design/ground.hpp"

namespace swardline {

/// The points of one draw: indices into its candidates, in draw order.
struct Chosen {
  std::vector<std::size_t> planned, spares;
  /// Points that may stand in when spares run out, spread like them.
  std::vector<std::size_t> reserve;
};

/// Steps 3 and 4: planned plots, spares from what is left, each spread and in draw order.
[[nodiscard]] Chosen choose(const std::vector<Point>& points, int planned, int spares, const RandomKey& key);

/// A reserve of twice as many again, from what is left.
void add_reserve(const std::vector<Point>& points, Chosen& chosen, const RandomKey& key);

struct KeptApart {
  std::vector<std::size_t> planned, spares;
  int replaced = 0;  ///< planned plots that gave way to a spare
};

/// Plots keep their places in draw order unless one before them is nearer than `apart_m`; who gives
/// way is replaced by the first spare, then reserve, that is far enough from all; the spares are
/// then filled up the same way, to `spares`. What does not fit is left out. Adds the reserve to `chosen`
/// when the spares do not suffice.
[[nodiscard]] KeptApart keep_apart(const std::vector<Point>& points, Chosen& chosen, double apart_m,
                                   int spares, const RandomKey& key);

/// What the closeness rule does to the chances of the pivotal draw.
struct Departure {
  double largest = 0;         ///< |chance / equal chance - 1| over 20 parts and the edge strip
  double error = 0;           ///< its standard error
  bool beyond_noise = false;  ///< some departure is above both 5 % and three standard errors
  bool at_edge = false;       ///< the largest is that of the edge strip
  int redraws = 0;
  int short_redraws = 0;  ///< in which the planned plots did not all fit
};

/// Simulated with the same frame and numbers under the key's own redraws.
[[nodiscard]] Departure simulate_departure(Ground& ground, const DrawRequest& request,
                                           std::int64_t candidates, const RandomKey& key);

/// Points of a triangular lattice, `apart_m` between neighbours, with random start and turn, that
/// fall on the ground, to whole millimetres and never nearer than `apart_m`. Every spot has the same
/// chance, 1/(√3/2 · apart_m²) per m² (on a weighted frame times weight / largest weight, by leaving points
/// out at random); the number is random.
[[nodiscard]] std::vector<Candidate> lattice_points(Ground& ground, double apart_m, const RandomKey& key);

/// The same for a lattice that will be thinned to `planned` when it gives more. Thinning a lattice of
/// N points multiplies its chances by planned/N, which would favour ground where lattices with few
/// points fall; so of up to 64 lattices one is taken with chance in proportion to max(planned, N), and every
/// spot keeps the same chance after thinning, to the square of N's relative spread over their number.
[[nodiscard]] std::vector<Candidate> lattice_to_thin(Ground& ground, double apart_m, int planned,
                                                     const RandomKey& key);

/// The largest distance, rounded down, at which every lattice that `lattice_to_thin` would choose from
/// under the same key gives `planned` points; at most `below_m`. None when even a small distance does
/// not. A bounded search.
[[nodiscard]] std::optional<double> apart_that_fits(Ground& ground, int planned, double below_m,
                                                    const RandomKey& key);

}  // namespace swardline
