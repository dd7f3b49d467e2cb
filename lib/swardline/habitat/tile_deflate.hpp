// DEFLATE for tiles of maps. Private to the stage.
#pragma once

#include <cstdint>
#include <span>
#include <vector>

namespace swardline {

/// Bytes in the form TIFF calls Adobe DEFLATE: a zlib stream (RFC 1950) of one block with codes of its own
/// (RFC 1951). `cells`: one byte a cell, rows of map_tile_cells, at least four of them. Repeats are looked
/// for at two places only, the cell before and the cell above: in maps nearly all are there. That takes about
/// half the time that general compressors need at their quickest level (libdeflate 1.14, level 1), and less
/// room.
[[nodiscard]] std::vector<std::uint8_t> deflated_cells(std::span<const std::uint8_t> cells);

}  // namespace swardline
