// A stratum's ground, read again block by block as the draw asks for it.
#include <algorithm>
#include <list>

#include "swardline/base/error.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/strata_inside.hpp"
#include "swardline/design/strata_pins.hpp"

namespace swardline {

using Inside = SeasonStrata::Inside;

namespace {

std::span<const SitePiece> in_block(const std::vector<SitePiece>& pieces, const Block& block) {
  const auto [first, last] =
      std::equal_range(pieces.begin(), pieces.end(), block, [](const auto& a, const auto& b) {
        const auto block_of = [](const auto& x) -> const Block& {
          if constexpr (std::is_same_v<std::decay_t<decltype(x)>, Block>) {
            return x;
          } else {
            return x.ground.block;
          }
        };
        return block_of(a) < block_of(b);
      });
  return {first, last};
}

}  // namespace

std::span<const SitePiece> Inside::pieces_in(const Block& block) const { return in_block(pieces, block); }

std::span<const SitePiece> Inside::pin_pieces_in(const Block& block) const {
  return in_block(pins_apart ? pin_pieces : pieces, block);
}

bool Inside::may_hold(const SitePiece& piece, std::size_t stratum) const {
  return piece.head == head_of[stratum] &&
         std::binary_search(sites[stratum].begin(), sites[stratum].end(), piece.site);
}

std::size_t Inside::codes(std::size_t source) const {
  return source == now() ? rule.codes() : std::size_t(kinds_of(record.versions[source])) + 1;
}

std::shared_ptr<const BlockGround> Inside::ground_of(std::size_t source, const Block& block) const {
  if (auto kept = cache_.find(source, block)) return kept;
  auto ground = std::make_shared<BlockGround>();
  Borrowed(*this)->ground(source, block, *ground);
  cache_.keep(source, block, ground);
  return ground;
}

std::shared_ptr<const CoveredBlock> Inside::covered(std::size_t head, const Block& block) const {
  if (auto kept = covered_.find(head, block)) return kept;
  const std::shared_ptr<const BlockGround> ground = ground_of(heads[head].source, block);
  std::vector<const SitePiece*> pieces;
  for (const SitePiece& piece : pin_pieces_in(block)) {
    if (piece.head == head) pieces.push_back(&piece);
  }
  auto covered = std::make_shared<CoveredBlock>();
  if (pieces.size() == 1 && pieces.front()->ground.full) {
    covered->ground = ground;
  } else {
    take_covered(pieces, *ground, block.window(), *covered);
  }
  covered_.keep(head, block, covered);
  return covered;
}

/// Cells that pieces of one head cover; several may share a cell.
void Inside::take_covered(const std::vector<const SitePiece*>& pieces, const BlockGround& ground,
                          const Window& window, CoveredBlock& covered) const {
  covered.own.assign(window.cells(), BlockKinds::none);
  const auto cut = [&](std::size_t place, std::int64_t mm2) {
    covered.cut.push_back({ground.code(place),
                           {window.col + std::int64_t(place % block_cells),
                            window.row + std::int64_t(place / block_cells), mm2}});
  };
  thread_local BlockCover cover;
  if (pieces.size() == 1) {
    cover_of(pieces.front()->ground, grid(), cover);
    for (const BlockCover::Run& run : cover.whole) {
      std::copy_n(ground.narrow.begin() + std::ptrdiff_t(run.first), run.count,
                  covered.own.begin() + std::ptrdiff_t(run.first));
    }
    for (const BlockCover::Cut& cell : cover.cut) cut(cell.place, cell.mm2);
    return;
  }
  std::vector<std::int64_t> mm2(window.cells(), 0);
  for (const SitePiece* piece : pieces) add_cover(piece->ground, grid(), mm2);
  const std::int64_t full = cell_mm2(grid());
  for (std::size_t i = 0; i < mm2.size(); ++i) {
    if (mm2[i] == full) {
      covered.own[i] = ground.narrow[i];
    } else if (mm2[i] > 0) {
      cut(i, mm2[i]);
    }
  }
}

void Inside::keep(std::size_t source, const Block& block, std::shared_ptr<const BlockGround> ground) const {
  cache_.keep(source, block, std::move(ground));
}

Inside::Borrowed::Borrowed(const Inside& inside) : inside_(inside) {
  {
    const std::lock_guard lock(inside.guard_);
    if (!inside.idle_.empty()) {
      reader_ = std::move(inside.idle_.back());
      inside.idle_.pop_back();
    }
  }
  if (!reader_)
    reader_ = std::make_unique<GroundReader>(inside.layers, inside.model, inside.rule, inside.record,
                                             inside.map_of_now);
}

Inside::Borrowed::~Borrowed() {
  const std::lock_guard lock(inside_.guard_);
  inside_.idle_.push_back(std::move(reader_));
}

namespace {

class StratumFrame final : public Frame {
 public:
  StratumFrame(const Inside& inside, std::size_t stratum) : inside_(inside), stratum_(stratum) {}

  [[nodiscard]] const std::vector<BlockArea>& blocks() const override { return inside_.blocks[stratum_]; }
  [[nodiscard]] const Grid& grid() const override { return inside_.grid(); }
  [[nodiscard]] bool weighted() const override { return inside_.strata[stratum_].weighted_mm2 > 0; }

  [[nodiscard]] std::vector<CellArea> cells(const Block& block) const override {
    for (auto kept = kept_.begin(); kept != kept_.end(); ++kept) {
      if (kept->first != block) continue;
      kept_.splice(kept_.begin(), kept_, kept);
      return kept_.front().second;
    }
    kept_.emplace_front(block, read(block));
    if (kept_.size() > most_kept) kept_.pop_back();
    return kept_.front().second;
  }

  [[nodiscard]] std::optional<BlockKinds> kinds(const Block& block) const override {
    const std::size_t head = inside_.head_of[stratum_], source = inside_.heads[head].source;
    if (inside_.grown_by_m > 0 || weighted() || inside_.codes(source) > BlockGround::most_narrow) return {};
    const std::shared_ptr<const CoveredBlock> covered = inside_.covered(head, block);
    BlockKinds kinds{{covered, &covered->whole()}, {}, {}};
    const std::vector<int>& of_code = inside_.stratum_of[head];
    for (std::size_t code = 0; code < of_code.size(); ++code) {
      if (of_code[code] == int(stratum_)) kinds.wanted.push_back(std::uint8_t(code));
    }
    for (const CoveredBlock::Cut& cut : covered->cut) {
      if (of_code[cut.code] == int(stratum_)) kinds.cut.push_back(cut.cell);
    }
    return kinds;
  }

  [[nodiscard]] Geometry ground(std::int64_t col, std::int64_t row) const override {
    std::vector<Geometry> parts;
    std::vector<const SitePiece*> pieces;
    for (const SitePiece& piece : inside_.pin_pieces_in(block_at(col, row))) {
      if (!inside_.may_hold(piece, stratum_)) continue;
      Geometry part = ground_of_cell(piece.ground, grid(), col, row);
      if (part.empty()) continue;
      parts.push_back(std::move(part));
      pieces.push_back(&piece);
    }
    if (parts.size() == 1) return std::move(parts.front());
    // Outside the survey area, one cell may be of another kind for each site.
    if (inside_.grown_by_m > 0) keep_own(col, row, pieces, parts);
    return polygons_of(united(parts));
  }

 private:
  /// Blocks of cells kept: the draw asks for neighbours again.
  static constexpr std::size_t most_kept = 4;

  [[nodiscard]] std::vector<CellArea> read(const Block& block) const {
    const Window area = block.window();
    std::vector<std::int64_t> mm2(area.cells(), 0);
    if (inside_.grown_by_m > 0) {
      add_grown(block, mm2);
    } else {
      for (const SitePiece& piece : inside_.pin_pieces_in(block)) {
        if (inside_.may_hold(piece, stratum_)) add_cover(piece.ground, grid(), mm2);
      }
    }
    // Chances are never weighted where pins may fall outside the survey area.
    const std::size_t head = inside_.head_of[stratum_];
    const std::shared_ptr<const BlockGround> ground =
        inside_.grown_by_m > 0 ? nullptr : inside_.ground_of(inside_.heads[head].source, block);
    const std::vector<int>& of_code = inside_.stratum_of[head];
    const std::int32_t floor = inside_.rule.weight.floor;
    std::vector<CellArea> cells;
    for (std::size_t i = 0; i < mm2.size(); ++i) {
      if (mm2[i] <= 0 || (ground && of_code[ground->code(i)] != int(stratum_))) continue;
      cells.push_back({area.col + std::int64_t(i % block_cells), area.row + std::int64_t(i / block_cells),
                       mm2[i], weighted() ? std::max(ground->weights[i], floor) : 1});
    }
    return cells;
  }

  /// Ground of the stratum where pins may fall outside the survey area.
  void add_grown(const Block& block, std::vector<std::int64_t>& in_stratum) const {
    PinGround ground(inside_, *Inside::Borrowed(inside_), inside_.heads[inside_.head_of[stratum_]].source,
                     block);
    std::vector<std::int64_t> cover(in_stratum.size(), 0);
    for (const SitePiece& piece : inside_.pin_pieces_in(block)) {
      if (!inside_.may_hold(piece, stratum_)) continue;
      std::fill(cover.begin(), cover.end(), 0);
      add_cover(piece.ground, grid(), cover);
      const std::vector<int>& strata = ground.strata(piece, cover);
      for (std::size_t i = 0; i < cover.size(); ++i) {
        if (cover[i] > 0 && strata[i] == int(stratum_)) in_stratum[i] += cover[i];
      }
    }
  }

  void keep_own(std::int64_t col, std::int64_t row, const std::vector<const SitePiece*>& pieces,
                std::vector<Geometry>& parts) const {
    std::vector<Geometry> own;
    for (std::size_t i = 0; i < pieces.size(); ++i) {
      if (stratum_of_pin(inside_, *pieces[i], col, row) == int(stratum_)) own.push_back(std::move(parts[i]));
    }
    parts = std::move(own);
  }

  const Inside& inside_;
  std::size_t stratum_;
  mutable std::list<std::pair<Block, std::vector<CellArea>>> kept_;
};

}  // namespace

std::unique_ptr<Frame> SeasonStrata::frame(std::size_t stratum) const {
  return std::make_unique<StratumFrame>(*inside_, stratum);
}

std::size_t SeasonStrata::site_at(std::size_t stratum, std::int64_t col, std::int64_t row, Point at) const {
  const std::vector<std::size_t>& sites = inside_->sites[stratum];
  if (sites.size() == 1) return sites.front();
  std::size_t nearest = sites.front();
  double least = -1;
  for (const SitePiece& piece : inside_->pin_pieces_in(block_at(col, row))) {
    if (!inside_->may_hold(piece, stratum)) continue;
    const Geometry ground = ground_of_cell(piece.ground, inside_->grid(), col, row);
    if (ground.empty()) continue;
    const double away = ground.contains(at) ? 0 : distance(ground, point_geometry(at));
    if (least < 0 || away < least) {
      least = away;
      nearest = piece.site;
    }
  }
  return nearest;
}

std::vector<CellReading> SeasonStrata::readings(
    const std::vector<std::pair<std::int64_t, std::int64_t>>& cells, int threads) const {
  // By block, so that each block of a file is read once.
  std::vector<std::pair<Block, std::size_t>> order;
  for (std::size_t i = 0; i < cells.size(); ++i)
    order.emplace_back(block_at(cells[i].first, cells[i].second), i);
  std::sort(order.begin(), order.end());
  std::vector<CellReading> all(cells.size());
  in_runs(order.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    if (begin == end) return;
    const Inside::Borrowed reader(*inside_);
    std::vector<std::pair<std::int64_t, std::int64_t>> here;
    for (std::size_t i = begin; i < end; ++i) here.push_back(cells[order[i].second]);
    std::vector<CellReading> read;
    reader->now().readings(here, read);
    for (std::size_t i = begin; i < end; ++i) all[order[i].second] = std::move(read[i - begin]);
  });
  return all;
}

std::vector<std::optional<SeasonStrata::PlaceFound>> SeasonStrata::places(
    const std::vector<Point>& points) const {
  constexpr double touching_m = 0.002;  // a position carried through another coordinate system
  const Grid& grid = inside_->grid();
  std::vector<std::optional<PlaceFound>> found(points.size());
  // By block and source, so that each is read once.
  std::map<std::pair<Block, std::size_t>, std::vector<std::pair<std::size_t, const SitePiece*>>> asked;
  for (std::size_t i = 0; i < points.size(); ++i) {
    const std::int64_t col = grid.col_of(points[i].x), row = grid.row_of(points[i].y);
    for (const SitePiece& piece : inside_->pieces_in(block_at(col, row))) {
      const Geometry ground = ground_of_cell(piece.ground, grid, col, row);
      if (ground.empty()) continue;
      if (!ground.contains(points[i]) && distance(ground, point_geometry(points[i])) > touching_m) continue;
      asked[{piece.ground.block, piece.source}].emplace_back(i, &piece);
      break;
    }
  }
  const Inside::Borrowed reader(*inside_);
  std::vector<GroundCode> codes;
  for (const auto& [where, here] : asked) {
    const Window window = where.first.window();
    reader->ground(where.second, window, codes);
    for (const auto& [i, piece] : here) {
      const std::int64_t col = grid.col_of(points[i].x), row = grid.row_of(points[i].y);
      const auto cell =
          std::size_t(row - window.row) * std::size_t(block_cells) + std::size_t(col - window.col);
      const int stratum = inside_->stratum_of[piece->head][codes[cell]];
      if (stratum >= 0) found[i] = PlaceFound{std::size_t(stratum), piece->site, col, row};
    }
  }
  return found;
}

}  // namespace swardline
