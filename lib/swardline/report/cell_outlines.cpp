#include "swardline/report/cell_outlines.hpp"

#include <cmath>

namespace swardline {
namespace {

// Edges between a code and anything else, walked with the code on the right. A corner (row, col) has up to
// one edge that leaves it in each direction.
constexpr int east = 0, south = 1, west = 2, north = 3;

class Outlines {
 public:
  Outlines(const SiteCells& cells, const std::vector<double>& xs, const std::vector<double>& ys)
      : cells_(cells), xs_(xs), ys_(ys), wide_(std::size_t(cells.cols) + 1) {}

  std::map<std::uint8_t, std::string> all() {
    std::map<std::uint8_t, std::string> paths;
    done_.assign(wide_ * (std::size_t(cells_.rows) + 1) * 2, false);
    for (int row = 0; row < cells_.rows; ++row)
      for (int col = 0; col < cells_.cols; ++col) {
        const std::uint8_t code = at(row, col);
        if (code == map_nothing || at(row - 1, col) == code || done(row, col)) continue;
        walk(row, col, code, paths[code]);
      }
    return paths;
  }

 private:
  [[nodiscard]] std::uint8_t at(int row, int col) const {
    if (row < 0 || col < 0 || row >= cells_.rows || col >= cells_.cols) return map_nothing;
    return cells_.codes[std::size_t(row) * std::size_t(cells_.cols) + std::size_t(col)];
  }
  // Only eastward edges (a cell's upper one) begin an outline, so only they are marked.
  [[nodiscard]] std::vector<bool>::reference done(int row, int col) {
    return done_[std::size_t(row) * wide_ + std::size_t(col)];
  }

  /// Whether an edge of `code` leaves the corner in this direction, the code on its right.
  [[nodiscard]] bool leaves(int row, int col, int way, std::uint8_t code) const {
    const auto is = [&](int r, int c) { return at(r, c) == code; };
    switch (way) {
      case east:
        return is(row, col) && !is(row - 1, col);
      case south:
        return is(row, col - 1) && !is(row, col);
      case west:
        return is(row - 1, col - 1) && !is(row, col - 1);
      default:
        return is(row - 1, col) && !is(row - 1, col - 1);
    }
  }

  void walk(int row, int col, std::uint8_t code, std::string& path) {
    const int row0 = row, col0 = col;
    int way = east;
    path += 'M';
    add_short_number(path, xs_[std::size_t(col)]);
    path += ' ';
    add_short_number(path, ys_[std::size_t(row)]);
    do {
      if (way == east) done(row, col) = true;
      if (way == east) ++col;
      if (way == west) --col;
      if (way == south) ++row;
      if (way == north) --row;
      // Right first: where two cells touch at a corner their outlines stay apart.
      int next = (way + 1) % 4;
      if (!leaves(row, col, next, code)) next = way;
      if (!leaves(row, col, next, code)) next = (way + 3) % 4;
      if (row == row0 && col == col0 && next == east) break;  // closed by z
      if (next != way) {
        const bool level = way == east || way == west;
        path += level ? 'H' : 'V';
        add_short_number(path, level ? xs_[std::size_t(col)] : ys_[std::size_t(row)]);
      }
      way = next;
    } while (true);
    path += 'z';
  }

  const SiteCells& cells_;
  const std::vector<double>& xs_;
  const std::vector<double>& ys_;
  std::size_t wide_;
  std::vector<bool> done_;
};

}  // namespace

void add_short_number(std::string& out, double value) {
  const long long tenths = std::llround(value * 10);
  if (tenths < 0) out += '-';
  const long long all = tenths < 0 ? -tenths : tenths;
  out += std::to_string(all / 10);
  if (all % 10 != 0) {
    out += '.';
    out += char('0' + all % 10);
  }
}

std::map<std::uint8_t, std::string> cell_outlines(const SiteCells& cells, const std::vector<double>& xs,
                                                  const std::vector<double>& ys) {
  return cells.codes.empty() ? std::map<std::uint8_t, std::string>{} : Outlines(cells, xs, ys).all();
}

}  // namespace swardline
