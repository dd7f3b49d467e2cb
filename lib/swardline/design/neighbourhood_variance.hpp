// Variance of an estimated total from a spread sample: neighbours stand in for the draws not made.
#pragma once

#include <cstddef>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

struct NeighbourWeight {
  std::size_t unit = 0;
  double weight = 0;
};
/// By unit: its neighbourhood, itself among it. Rows and columns sum to one.
using NeighbourWeights = std::vector<std::vector<NeighbourWeight>>;

/// Each unit's four nearest, itself the first (all where there are fewer; ties by number), made mutual
/// and weighted so that weights fall with the rank and rows and columns sum to one (Stevens & Olsen 2003,
/// Environmetrics 14:593-610, ask for these properties; the scaling is Sinkhorn & Knopp's 1967). Chances
/// would drop out of the scaling, so none are asked for. Grows with n √n.
[[nodiscard]] NeighbourWeights neighbourhood_weights(const std::vector<Point>& points);

/// Whether a neighbourhood's sum of squares is divided by 1 − Σw², its expectation on unstructured counts.
/// As published it gives about 0.7 of the true variance there.
enum class SmallNeighbourhoods { as_published, corrected };

/// Σᵢ Σⱼ wᵢⱼ (zⱼ − Σₖ wᵢₖ zₖ)² with z = count / chance: the variance of their sum, in the square of its
/// unit (Stevens & Olsen 2003). Units alone in their neighbourhood add nothing.
[[nodiscard]] double neighbourhood_variance(const NeighbourWeights& weights, const std::vector<double>& z,
                                            SmallNeighbourhoods small = SmallNeighbourhoods::corrected);

/// ½ Σᵢ (zᵢ − z of its nearest)², the mean over nearest at the same distance (Grafström & Schelin 2014,
/// Scandinavian Journal of Statistics 41:277-290). 0 for fewer than two points.
[[nodiscard]] double nearest_neighbour_variance(const std::vector<Point>& points,
                                                const std::vector<double>& z);

}  // namespace swardline
