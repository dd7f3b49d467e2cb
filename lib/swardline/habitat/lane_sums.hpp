// Covered areas by site and lane of species. Private to the stage.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/habitat/model_parts.hpp"
#include "swardline/habitat/site_sums.hpp"

namespace swardline {

/// What tallies of lanes add up, however they count cells.
class LaneSums {
 public:
  [[nodiscard]] const std::vector<std::size_t>& species() const { return species_; }
  [[nodiscard]] const SiteSums& sums(std::size_t area, std::size_t lane) const {
    return sums_[area * species_.size() + lane];
  }
  void add(const LaneSums& other);

 protected:
  /// `model` is kept by reference.
  LaneSums(const Model::Inside& model, const std::vector<std::size_t>& species, std::size_t areas);
  [[nodiscard]] const ScoredSpecies& scored(std::size_t lane) const { return model_.species[species_[lane]]; }
  [[nodiscard]] SiteSums& sums_of(std::size_t area, std::size_t lane) {
    return sums_[area * species_.size() + lane];
  }
  /// Cells that are looked at one by one, a mm² each, until they are given to an area.
  [[nodiscard]] SiteSums& each(std::size_t lane) { return each_[lane]; }
  void give_each_to(std::size_t area, std::int64_t cell_mm2);
  void add_cell(SiteSums& sums, const Tile& tile, std::size_t cell, std::size_t lane, const Verdict& verdict,
                std::int64_t mm2) const;

 private:
  const Model::Inside& model_;
  std::vector<std::size_t> species_;  ///< by lane
  std::vector<SiteSums> each_;        ///< by lane
  std::vector<SiteSums> sums_;        ///< by area, then lane
};

}  // namespace swardline
