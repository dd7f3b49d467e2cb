// What is done to one tile of a map: counted, halved for the overview above it, packed. Private to the stage.
#pragma once

#include <array>
#include <cstddef>
#include <cstdint>
#include <span>
#include <vector>

namespace swardline {

/// Cells along a side of a map's tiles.
inline constexpr int map_tile_cells = 256;
/// And of what a tile gives to the overview above it.
inline constexpr int half_tile_cells = map_tile_cells / 2;

/// Overviews halve the level below: each of their cells stands for exactly 2 × 2 of it (fewer at the right
/// and lower edge), counted from the north-west corner. Where sides are even at every level that is what GDAL
/// makes of them; where they are odd, GDAL stretches its cells a little.
/// `tile` is a whole tile, `half` the quarter of the tile above that it fills (rows a tile's side apart).
/// Mean of the cells with a score, halves rounded up; no_percent where none has one.
void halve_percents(const std::uint8_t* tile, std::uint8_t* half);
/// Float32. Mean of the cells that are not NaN; NaN where all are.
void halve_scores(const std::uint8_t* tile, std::uint8_t* half);
/// The north-western cell, as GDAL's nearest neighbour.
void halve_categories(const std::uint8_t* tile, std::uint8_t* half);

/// Adds the cells of each value. No more than 2^32 cells a call.
void count_values(std::span<const std::uint8_t> cells, std::array<std::int64_t, 256>& counts);

/// A whole tile of bytes as a TIFF with COMPRESS=DEFLATE holds it.
[[nodiscard]] std::vector<std::uint8_t> packed_bytes(const std::uint8_t* tile);
/// The same of Float32, with PREDICTOR=3.
[[nodiscard]] std::vector<std::uint8_t> packed_scores(const std::uint8_t* tile);

}  // namespace swardline
