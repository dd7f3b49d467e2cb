#include "swardline/design/site_cells.hpp"

#include <algorithm>

#include "swardline/design/strata_inside.hpp"

namespace swardline {

SiteCells thinned(const Window& window, int most_cells) {
  SiteCells cells;
  cells.window = window;
  while (std::int64_t((window.cols + cells.step - 1) / cells.step) *
             ((window.rows + cells.step - 1) / cells.step) >
         most_cells)
    ++cells.step;
  cells.cols = (window.cols + cells.step - 1) / cells.step;
  cells.rows = (window.rows + cells.step - 1) / cells.step;
  return cells;
}

namespace {

std::uint8_t map_code(const StrataRule& rule, GroundCode code) {
  if (code == ground_excluded) return map_excluded;
  return code == ground_no_score ? map_no_score : std::uint8_t(rule.band_of_ground(code));
}

}  // namespace

void SiteCellsTaker::lay_out(const SeasonStrata::Inside& inside, const Sites& sites, int most_cells) {
  // Of ground of record, and of other strata than those of the score, the bands of now are not known here.
  if (most_cells <= 0 || !inside.record.empty() || !inside.rule.by_score || !inside.rule.classes.empty() ||
      inside.rule.bands.size() >= map_nothing)
    return;
  constexpr std::int64_t most_of_all = 64'000'000;
  std::int64_t all = 0;
  std::vector<SiteCells> laid_out;
  for (const Site& site : sites.sites) {
    SiteCells cells;
    if (!site.survey.empty() && !site.verge) {
      cells = thinned(inside.grid().covering(site.survey.box()), most_cells);
      cells.codes.assign(std::size_t(cells.cols) * std::size_t(cells.rows), map_nothing);
      all += std::int64_t(cells.codes.size());
    }
    if (all > most_of_all) return;
    laid_out.push_back(std::move(cells));
  }
  cells_ = std::move(laid_out);
}

void SiteCellsTaker::take(std::size_t site, const Block& block, const BlockGround& ground,
                          const StrataRule& rule) {
  if (cells_.empty() || cells_[site].codes.empty()) return;
  SiteCells& cells = cells_[site];
  const Window here = block.window();
  // The first thinned row or column whose middle may lie in the block.
  const auto first = [&](std::int64_t from, std::int64_t begin) {
    return int(std::max<std::int64_t>(0, (from - begin) / cells.step - 1));
  };
  for (int row = first(here.row, cells.window.row); row < cells.rows; ++row) {
    const std::int64_t y = cells.window.row + cells.middle_row(row) - here.row;
    if (y < 0) continue;
    if (y >= here.rows) break;
    for (int col = first(here.col, cells.window.col); col < cells.cols; ++col) {
      const std::int64_t x = cells.window.col + cells.middle_col(col) - here.col;
      if (x < 0) continue;
      if (x >= here.cols) break;
      cells.codes[std::size_t(row) * std::size_t(cells.cols) + std::size_t(col)] =
          map_code(rule, ground.code(std::size_t(y * block_cells + x)));
    }
  }
}

}  // namespace swardline
