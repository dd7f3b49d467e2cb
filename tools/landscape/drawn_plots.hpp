// Plots and survey areas as a season's store holds them: where invented plants are counted.
#pragma once

#include <ogrsf_frmts.h>

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <vector>

#include "view.hpp"

namespace swardline::landscape {

struct DrawnPlot {
  std::string name, site, stratum, status;
  int order = 0;
  bool spare = false;
  Spot at;  ///< of its pin, plan coordinates
  double lat = 0, lon = 0;
  double axis_deg = 0;  ///< grid bearing of its long side
  double inside_m2 = 0, twice_m2 = 0;
  bool segment = false;
};

struct DrawnSeason {
  std::vector<DrawnPlot> plots;                                ///< by name
  std::map<std::string, std::unique_ptr<OGRGeometry>> survey;  ///< by site
};

/// Throws IoError where the store cannot be read.
[[nodiscard]] DrawnSeason read_drawn(const std::filesystem::path& store);

}  // namespace swardline::landscape
