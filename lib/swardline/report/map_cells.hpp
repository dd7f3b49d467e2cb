// What colour each cell of a site's map gets. Private to this folder.
#pragma once

#include <cstdint>
#include <vector>

#include "swardline/habitat/model.hpp"

namespace swardline {

inline constexpr std::uint8_t map_excluded = 254;
inline constexpr std::uint8_t map_no_score = 253;

/// A thinned window: `codes` holds a band's number, map_excluded or map_no_score, row by row; each stands for
/// `step` × `step` cells and is taken from the middle one.
struct MapCells {
  Window window;
  int step = 1;
  int cols = 0, rows = 0;
  std::vector<std::uint8_t> codes;
};

/// Reads and scores the window in strips; memory depends on its width only.
[[nodiscard]] MapCells map_cells(const Season& season, const Layers& layers, const Model& model,
                                 const Window& window, int most_cells);

}  // namespace swardline
