// Which species a team is to expect at a site.
#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "swardline/design/draw_season.hpp"
#include "swardline/grid/layers.hpp"
#include "swardline/returns/expected.hpp"

namespace swardline {

struct LikelySpecies {
  std::size_t sheet = 0;  ///< index into Season::sheets
  double weight = 1;      ///< mean score over the site's plots, 0.01 at least; 1 where it is not scored
};

struct SiteSpecies {
  std::string site, name;
  std::vector<LikelySpecies> likely;  ///< searched for here, highest score first
  std::vector<std::size_t> possible;  ///< sheets not likely but neither excluded nor scored 0 at every plot
  std::string habitat;                ///< the attribute [packet] habitat names; may be empty
  std::vector<std::string> classes;   ///< "cover WM": class values found at plots, as layer and code
  int plots = 0;                      ///< due this season, spares not counted
  double walk_m = 0;                  ///< along the walking order, from the start
  bool linear = false;                ///< a verge
};

/// Class values met at plots that are due, by site: "cover WM". Reads one cell a plot of the class layers
/// among `layers`.
[[nodiscard]] std::map<std::string, std::vector<std::string>> classes_at_plots(
    const Layers& layers, const std::vector<Plot>& plots, const std::vector<Transect>& transects);

/// Of every site with plots that are due, by code. `expected` says what is searched for where; weights are
/// mean scores over planned plots, excluded ground as 0. `sites` gives the habitat, and may lack a site.
[[nodiscard]] std::vector<SiteSpecies> site_species_of(
    const Season& season, const Expected& expected, const std::vector<Plot>& plots,
    const std::vector<Transect>& transects, const Sites& sites,
    const std::map<std::string, std::vector<std::string>>& classes = {});

}  // namespace swardline
