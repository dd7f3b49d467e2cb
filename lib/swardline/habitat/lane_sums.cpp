#include "swardline/habitat/lane_sums.hpp"

namespace swardline {

LaneSums::LaneSums(const Model::Inside& model, const std::vector<std::size_t>& species, std::size_t areas)
    : model_(model), species_(species), each_(species.size()), sums_(areas * species.size()) {}

void LaneSums::add(const LaneSums& other) {
  for (std::size_t i = 0; i < sums_.size(); ++i) sums_[i].add(other.sums_[i]);
}

void LaneSums::give_each_to(std::size_t area, std::int64_t cell_mm2) {
  for (std::size_t lane = 0; lane < species_.size(); ++lane) {
    SiteSums& each = each_[lane];
    SiteSums& sums = sums_of(area, lane);
    for (std::size_t slot = 0; slot < SiteSums::slots; ++slot) sums.mm2[slot] += each.mm2[slot] * cell_mm2;
    sums.reweighted += each.reweighted * cell_mm2;
    each = {};
  }
}

void LaneSums::add_cell(SiteSums& sums, const Tile& tile, std::size_t cell, std::size_t lane,
                        const Verdict& verdict, std::int64_t mm2) const {
  sums.mm2[SiteSums::slot(scored(lane), verdict.percent, verdict.held_down)] += mm2;
  if (verdict.percent != no_percent && others_stand_in(model_, species_[lane], tile, cell))
    sums.reweighted += mm2;
}

}  // namespace swardline
