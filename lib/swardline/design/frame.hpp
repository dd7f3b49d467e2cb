// What a stratum's draw needs to know of the ground: how much of it lies in each block,
// and, on demand, in each cell of one block. Areas are whole square millimetres, so sums
// are exact and additive.
#pragma once

#include <cstdint>
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "swardline/grid/cover.hpp"
#include "swardline/grid/grid.hpp"

namespace swardline {

struct BlockArea {
  Block block;
  std::int64_t mm2 = 0;
  std::int64_t weighted_mm2 = 0;  ///< sum of mm² × weight over its cells; used where the frame is weighted
};

struct CellArea {
  std::int64_t col = 0, row = 0;
  std::int64_t mm2 = 0;
  std::int32_t weight = 1;  ///< used where the frame is weighted
};

/// Adds mm² × weight. Throws InputError where a sum would be more than whole numbers of 63 bits hold.
void add_weighted(std::int64_t& sum, std::int64_t mm2, std::int64_t weight);

/// Cells of a block by kind, from frames with equal chances that know them so.
struct BlockKinds {
  static constexpr std::uint8_t none = 255;
  /// By cell, row by row; `none` where a cell has no ground or is not wholly covered.
  std::shared_ptr<const std::vector<std::uint8_t>> whole;
  std::vector<std::uint8_t> wanted;  ///< kinds that are the frame's
  std::vector<CellArea> cut;         ///< the frame's cells that are not wholly covered
};

/// The ground of one stratum. Called per block or per chosen cell, never per cell.
class Frame {
 public:
  virtual ~Frame() = default;
  /// Blocks with ground, ordered by block; every mm2 > 0.
  [[nodiscard]] virtual const std::vector<BlockArea>& blocks() const = 0;
  /// Cells of a block with ground, row by row; their sum is the block's area.
  [[nodiscard]] virtual std::vector<CellArea> cells(const Block& block) const = 0;
  /// The same as `cells`, by kind, where the frame has it; a large block is drawn from more quickly so.
  [[nodiscard]] virtual std::optional<BlockKinds> kinds(const Block& /*block*/) const { return {}; }
  /// The ground of one cell (cell ∩ survey area), for a point uniform within it.
  [[nodiscard]] virtual Geometry ground(std::int64_t col, std::int64_t row) const = 0;
  [[nodiscard]] virtual const Grid& grid() const = 0;
  /// Whether chances are in proportion to the cells' whole-number weights. Ground with weight 0 is
  /// never drawn.
  [[nodiscard]] virtual bool weighted() const { return false; }
};

/// A frame made of one polygon: every covered cell is in the stratum. Held in memory by
/// blocks; for small sites, examples and tests.
class PolygonFrame final : public Frame {
 public:
  PolygonFrame(const Geometry& area, const Grid& grid);
  /// With chances in proportion to `weight`, a whole number from 0 up for every cell.
  using Weight = std::function<std::int32_t(std::int64_t col, std::int64_t row)>;
  PolygonFrame(const Geometry& area, const Grid& grid, const Weight& weight);
  [[nodiscard]] const std::vector<BlockArea>& blocks() const override { return blocks_; }
  [[nodiscard]] std::vector<CellArea> cells(const Block& block) const override;
  [[nodiscard]] Geometry ground(std::int64_t col, std::int64_t row) const override;
  [[nodiscard]] const Grid& grid() const override { return grid_; }
  [[nodiscard]] bool weighted() const override { return weighted_; }

 private:
  Grid grid_;
  bool weighted_ = false;
  std::vector<BlockArea> blocks_;
  std::vector<BlockPiece> pieces_;  ///< beside blocks_
  std::vector<std::vector<CellArea>> cells_;
};

}  // namespace swardline
