// The draw of one stratum: fixed size, inclusion uniform in area, plots spread evenly.
//
// 1 sums, 2 hierarchical order (Stevens & Olsen 2004), 3 local pivotal thinning
// (Grafström, Lundström & Schelin 2012), 4 spares the same way from what is left.
#pragma once

#include <cstdint>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "swardline/base/random.hpp"
#include "swardline/design/frame.hpp"

namespace swardline {

struct DrawRequest {
  std::string stratum;  ///< identity; its bytes feed the generator
  std::uint64_t seed = 0;
  int planned = 0;
  int spares = 0;
  double apart_m = 0;  ///< 0: no closeness rule
  bool refuse_when_apart_binds = false;
  /// The survey area the stratum lies in and how far a plot reaches from its pin: the strip within
  /// that reach of the boundary is watched when the closeness rule is simulated. May be null. Must
  /// live as long as the call.
  const Geometry* survey_area = nullptr;
  double reach_m = 0;
  /// False: balance and nearest pair stay 0. More than half of the time of a small draw goes to them, which a
  /// simulation has no use for; the pins are the same.
  bool describe = true;
};

struct Pin {
  Point at;
  std::int64_t col = 0, row = 0;  ///< the cell it fell in
  bool spare = false;
  int order = 0;            ///< draw order, 1-based, planned first; spares go on from 1
  std::int64_t weight = 1;  ///< of its cell: the chance per m² is planned × weight / (weighted_mm2 × 1e-6)
  std::optional<double> bearing_deg = {};  ///< true bearing, of a plot kept from an earlier season
};

enum class DrawMethod {
  pivotal,
  lattice,
  refused,
  kept,         ///< plots of earlier seasons
  baseline,     ///< transects along a baseline with a random start
  independent,  ///< transects from independent random starts
  units         ///< of given units, each with the same chance
};

struct StratumDraw {
  std::vector<Pin> pins;  ///< planned in order, then spares in order
  DrawMethod method = DrawMethod::pivotal;
  std::int64_t area_mm2 = 0;
  std::int64_t weighted_mm2 = 0;  ///< sum of mm² × weight; the area where chances are equal
  /// Of transects: square metres that their starts are drawn from, where those are not the stratum's own.
  double start_ground_m2 = 0;
  std::int64_t candidates = 0;  ///< M; of a draw of units, how many there are
  /// Balance (Stevens & Olsen 2004: mean squared departure of Voronoi totals from 1) of the planned
  /// plots over the candidates, and the mean of simple random draws of the same size from them.
  double balance = 0;
  double balance_of_random = 0;
  double nearest_pair_m = 0;       ///< over planned plots; 0 with fewer than two
  int lattice_points = 0;          ///< that fell on the ground, before thinning; 0 unless a lattice
  int replaced_for_closeness = 0;  ///< planned plots replaced from spares
  /// Of the pivotal draw with this apart_m from equal chances, over 20 parts and the edge strip, as
  /// a share (0.05 = 5 %); simulated when apart_m is above 0.3·√(A/n).
  std::optional<double> largest_departure;
  double largest_departure_error = 0;  ///< its standard error, from the simulation
  int redraws = 0;                     ///< simulated
  int asked_planned = 0, asked_spares = 0;
  /// A distance that would let all asked plots fit, when they did not.
  std::optional<double> apart_that_fits_m;
  std::vector<std::string> notes;       ///< how it was drawn, in words
  std::vector<std::string> shortfalls;  ///< what was not drawn, why, and what would help, in words
};

/// Draws one stratum. Never loops for ever: what does not fit is a shortfall with numbers.
[[nodiscard]] StratumDraw draw_stratum(const Frame& frame, const DrawRequest& request);

/// Draws from units that are there already (segments of a line), each with the same chance planned/units,
/// exactly, by the same spread draw over their places. A pin's `col` is the unit's index. apart_m is not
/// looked at. More than there are is a shortfall.
[[nodiscard]] StratumDraw draw_units(const std::vector<Point>& units, const DrawRequest& request);

class Ground;

/// Many draws from one frame (other seeds, other numbers): the same draws as `draw_stratum`, but the
/// sums and the cut cells are kept between them. One thread at a time; the frame must outlive it.
class StratumDrawer {
 public:
  explicit StratumDrawer(const Frame& frame);
  ~StratumDrawer();
  StratumDrawer(StratumDrawer&&) noexcept;
  [[nodiscard]] StratumDraw draw(const DrawRequest& request);
  /// See `hierarchical_candidates`.
  [[nodiscard]] std::vector<struct Candidate> candidates(std::int64_t count, const RandomKey& key);

 private:
  std::unique_ptr<Ground> ground_;
};

/// Step 2 alone: M points, uniform in area (in proportion to the weight where the frame is weighted), in
/// hierarchical order. Whole millimetres, strictly
/// inside their cell and at least 0.01 mm inside the ground's edge, except in slivers that hold no
/// such point, where the point is any one of the sliver.
struct Candidate {
  Point at;
  std::int64_t col = 0, row = 0;
  std::int64_t weight = 1;
};
[[nodiscard]] std::vector<Candidate> hierarchical_candidates(const Frame& frame, std::int64_t count,
                                                             const RandomKey& key);

/// Step 3 alone: indices of exactly `keep` of the points, each with chance keep/size, by
/// the local pivotal method with whole-number chances (ascending order).
[[nodiscard]] std::vector<std::size_t> pivotal_sample(const std::vector<Point>& points, std::size_t keep,
                                                      const RandomKey& key);

/// Order by repeated halving: the first k of any length are spread and every rank has an equal chance.
[[nodiscard]] std::vector<std::size_t> spread_order(const std::vector<Point>& points, const RandomKey& key);

/// Balance index (Stevens & Olsen 2004) of `sample` (indices) over `points` with equal chances: the
/// mean over the sample of (v - 1)², v the sum of the chances of the points nearest to a unit; ties
/// are split equally, and are exact where coordinates are whole numbers. 0 for no points or no sample.
[[nodiscard]] double balance_index(const std::vector<Point>& points, const std::vector<std::size_t>& sample);
/// The same for sample points that need not be among `points`.
[[nodiscard]] double balance_index(const std::vector<Point>& points, const std::vector<Point>& sample);

}  // namespace swardline
