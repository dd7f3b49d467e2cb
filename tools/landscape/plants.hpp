// Invented plants whose every stem is known: what a season's counts are held against.
//
// Plants stand in clusters (Neyman & Scott 1958, in the form of Thomas 1949) whose density follows the
// ground, stay where they are from season to season, and flower in some seasons with some stems.
#pragma once

#include <ogrsf_frmts.h>

#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "view.hpp"

namespace swardline::landscape {

struct Plant {
  Spot at;
  std::uint64_t number = 0;  ///< its own, the same in every season
};

/// How a species really grows. The season's sheets say something near it, and in places something else.
struct TrueHabitat {
  std::string code;
  double clusters_per_ha = 0;             ///< on the best ground
  double plants = 0;                      ///< mean of a cluster
  double spread_m = 0;                    ///< standard deviation of a plant from its cluster's middle
  double a = 0, b = 0, c = 0, d = 0;      ///< soil moisture, percent; as a trapezoid
  std::map<std::string, double> cover;    ///< by cover code; none elsewhere
  std::map<std::string, double> bedrock;  ///< by bedrock code; empty: any
  double most_canopy = 100;               ///< percent; none under more
};
[[nodiscard]] const std::vector<TrueHabitat>& true_habitats();

/// The demo's layers, read whole: they are small.
class TrueGround {
 public:
  explicit TrueGround(const std::filesystem::path& layers);
  /// 0 to 1; 0 where nothing was measured.
  [[nodiscard]] double fitness(const TrueHabitat& species, Spot at) const;

 private:
  struct Band {
    std::vector<float> values;
    int cols = 0, rows = 0;
    double west = 0, north = 0, cell_m = 0;
    [[nodiscard]] std::optional<double> at(Spot spot) const;
  };
  Band cover_, moisture_, bedrock_, canopy_;
};

/// All plants of a species on an area, whatever the season.
[[nodiscard]] std::vector<Plant> plants_on(const TrueHabitat& species, const TrueGround& ground,
                                           const OGRGeometry& area);

/// Flowering stems of a plant in a season; 0 where it rests. `vigour`: the season's, near 1.
[[nodiscard]] int stems_of(const Plant& plant, const std::string& species, int year, double vigour);

/// How well a species does in a season.
[[nodiscard]] double vigour(const std::string& species, int year);

}  // namespace swardline::landscape
