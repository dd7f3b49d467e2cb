// Which species a team is to expect at a site.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

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

}  // namespace swardline
