// The demo valley: its sites, their land, and the files a programme would receive.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "land.hpp"

namespace swardline::landscape {

inline constexpr std::uint64_t kValleySeed = 2027;
inline constexpr const char* kValleyCrs = "EPSG:26914";
/// The first of the two seasons that counts are made for.
inline constexpr int kValleyFirstYear = 2027;

struct ValleySite {
  std::string code, name, habitat, owner;
  std::vector<std::vector<Spot>> rings;  ///< as put right, metres of kValleyCrs; each an outer ring
};

/// 24 km × 14 km in 10 m cells, cut by the 96th meridian.
[[nodiscard]] View valley_view();

/// The twelve sites, by code.
[[nodiscard]] const std::vector<ValleySite>& valley_sites();
[[nodiscard]] const ValleySite& valley_site(const std::string& code);

/// The land with the sites' habitats set into it.
[[nodiscard]] Land valley_land();

/// Middle line of Pell Road, and the length its verge runs along.
[[nodiscard]] const std::vector<Spot>& pell_road();

/// A part of the road's middle line, and how wide the verge is on each side of it, to 0.1 m.
struct RoadStretch {
  std::vector<Spot> line;
  double left_m = 0, right_m = 0;
};
[[nodiscard]] std::vector<RoadStretch> pell_road_stretches();

/// Writes `<folder>/layers/*.tif`.
void write_valley_layers(const std::filesystem::path& folder, int threads);
/// Writes the vector files: `received/` as they came, and beside it what puts them right.
void write_valley_vectors(const std::filesystem::path& folder);
/// Writes `<folder>/pilot.csv`: four species on 24 plots in two earlier seasons.
void write_valley_pilot(const std::filesystem::path& folder);

}  // namespace swardline::landscape
