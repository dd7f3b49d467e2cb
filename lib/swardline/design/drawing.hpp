// The draw of one stratum: fixed size, inclusion uniform in area, plots spread evenly.
//
// 1 sums, 2 hierarchical order (Stevens & Olsen 2004), 3 local pivotal thinning
// (Grafström, Lundström & Schelin 2012), 4 spares the same way from what is left.
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/random.hpp"
#include "swardline/design/frame.hpp"

namespace swardline {

struct DrawRequest {
  std::string stratum;         ///< identity; its bytes feed the generator
  std::uint64_t seed = 0;
  int planned = 0;
  int spares = 0;
  double apart_m = 0;          ///< 0: no closeness rule
  bool refuse_when_apart_binds = false;
};

struct Pin {
  Point at;
  std::int64_t col = 0, row = 0;  ///< the cell it fell in
  bool spare = false;
  int order = 0;                  ///< draw order, 1-based, planned first; spares go on from 1
};

enum class DrawMethod { pivotal, lattice, refused };

struct StratumDraw {
  std::vector<Pin> pins;          ///< planned in order, then spares in order
  DrawMethod method = DrawMethod::pivotal;
  std::int64_t area_mm2 = 0;
  std::int64_t candidates = 0;    ///< M
  /// Balance (Stevens & Olsen 2004: mean squared departure of Voronoi totals from 1) of the planned
  /// plots over the candidates, and the mean of simple random draws of the same size from them.
  double balance = 0;
  double balance_of_random = 0;
  double nearest_pair_m = 0;      ///< over planned plots; 0 with fewer than two
  int replaced_for_closeness = 0; ///< planned plots replaced from spares
  std::optional<double> largest_departure;  ///< simulated, when apart_m is above 0.3·√(A/n)
  int redraws = 0;                ///< simulated
  int asked_planned = 0, asked_spares = 0;
  /// A distance that would let all asked plots fit, when they did not.
  std::optional<double> apart_that_fits_m;
  std::vector<std::string> notes; ///< in words, for the certificate and the terminal
};

/// Draws one stratum. Never loops for ever: what does not fit is a shortfall with numbers.
[[nodiscard]] StratumDraw draw_stratum(const Frame& frame, const DrawRequest& request);

/// Step 2 alone: M points, uniform in area, in hierarchical order.
struct Candidate {
  Point at;
  std::int64_t col = 0, row = 0;
};
[[nodiscard]] std::vector<Candidate> hierarchical_candidates(const Frame& frame, std::int64_t count, const RandomKey& key);

/// Step 3 alone: indices of exactly `keep` of the points, each with chance keep/size, by
/// the local pivotal method with whole-number chances (ascending order).
[[nodiscard]] std::vector<std::size_t> pivotal_sample(const std::vector<Point>& points, std::size_t keep, const RandomKey& key);

/// Order by repeated halving: the first k of any length are spread and every rank has an equal chance.
[[nodiscard]] std::vector<std::size_t> spread_order(const std::vector<Point>& points, const RandomKey& key);

/// Balance index of `sample` (indices) over `points` with equal chances; ties split equally.
[[nodiscard]] double balance_index(const std::vector<Point>& points, const std::vector<std::size_t>& sample);

}  // namespace swardline
