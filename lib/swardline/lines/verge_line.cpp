#include "swardline/lines/verge_line.hpp"

#include <algorithm>
#include <cmath>
#include <utility>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

/// Lines taken from two files, or by two hands, may miss each other by some centimetres.
constexpr double touching_m = 0.1;

double millimetres(double metres) { return std::round(metres * 1000) / 1000; }

DrawnLine turned(DrawnLine line) {
  std::reverse(line.points.begin(), line.points.end());
  std::swap(line.strip.offset_m[0], line.strip.offset_m[1]);
  std::swap(line.strip.width_m[0], line.strip.width_m[1]);
  return line;
}

/// Drawn lines in the order they follow one another.
class Chain {
 public:
  explicit Chain(DrawnLine first) { lines_.push_back(std::move(first)); }
  [[nodiscard]] Point start() const { return lines_.front().points.front(); }
  [[nodiscard]] Point end() const { return lines_.back().points.back(); }
  [[nodiscard]] bool closed() const { return metres_between(start(), end()) <= touching_m; }

  /// Takes the line up at either end where it touches; says whether it had to be turned.
  enum class Taken { no, as_drawn, turned };
  Taken take(const DrawnLine& line) {
    const auto touch = [](Point a, Point b) { return metres_between(a, b) <= touching_m; };
    const Point a = line.points.front(), b = line.points.back();
    if (touch(end(), a)) return after(line, Taken::as_drawn);
    if (touch(start(), b)) return before(line, Taken::as_drawn);
    if (touch(end(), b)) return after(turned(line), Taken::turned);
    if (touch(start(), a)) return before(turned(line), Taken::turned);
    return Taken::no;
  }

  [[nodiscard]] JoinedLine joined() const {
    JoinedLine result;
    Point at = start();
    double metres = 0;
    for (const DrawnLine& line : lines_) {
      // The first point of a line that goes on is the last of the one before it.
      for (std::size_t i = 1; i < line.points.size(); ++i) {
        const Point to = line.points[i];
        const double length = metres_between(at, to);
        if (length <= 0) continue;
        result.pieces.push_back(
            {at, to, {(to.x - at.x) / length, (to.y - at.y) / length}, metres, length, line.strip});
        metres += length;
        at = to;
      }
    }
    result.closed = result.pieces.size() > 2 && closed();
    return result;
  }

 private:
  Taken after(DrawnLine line, Taken how) {
    lines_.push_back(std::move(line));
    return how;
  }
  Taken before(DrawnLine line, Taken how) {
    lines_.insert(lines_.begin(), std::move(line));
    return how;
  }
  std::vector<DrawnLine> lines_;
};

}  // namespace

Point LinePiece::beside(double metres, VergeSide side, double away) const {
  const double t = std::clamp(metres - start_m, 0.0, length_m);
  const double across = side == VergeSide::left ? away : -away;
  return {millimetres(from.x + t * along.x - across * along.y),
          millimetres(from.y + t * along.y + across * along.x)};
}

const LinePiece& JoinedLine::piece_at(double metres) const {
  if (pieces.empty()) throw Defect("a place on a line without length was asked for");
  const auto found =
      std::find_if(pieces.begin(), pieces.end(), [&](const LinePiece& p) { return metres <= p.end_m(); });
  return found == pieces.end() ? pieces.back() : *found;
}

JoinedLines join_lines(const std::vector<DrawnLine>& drawn) {
  JoinedLines result;
  std::vector<const DrawnLine*> left;
  for (const DrawnLine& line : drawn) {
    if (line.points.size() > 1) left.push_back(&line);
  }
  while (!left.empty()) {
    Chain chain(*left.front());
    left.erase(left.begin());
    bool grew = true;
    while (grew && !chain.closed()) {
      grew = false;
      for (auto it = left.begin(); it != left.end() && !grew; ++it) {
        const Chain::Taken how = chain.take(**it);
        if (how == Chain::Taken::no) continue;
        if (how == Chain::Taken::turned) ++result.turned;
        left.erase(it);
        grew = true;
        break;
      }
    }
    JoinedLine joined = chain.joined();
    if (!joined.pieces.empty()) result.lines.push_back(std::move(joined));
  }
  return result;
}

}  // namespace swardline
