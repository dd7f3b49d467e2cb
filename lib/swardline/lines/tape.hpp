// How much tape a line takes on a slope, and where its marks lie.
#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// Metres above any one level at a place; nothing where it is not known.
using HeightAt = std::function<std::optional<double>(Point)>;

/// A tape that follows the ground from a line's start: the sum of √(dx² + dz²) from height to height.
class Tape {
 public:
  /// Heights are asked for every `step_m` or closer. No tape where one is not known.
  static std::optional<Tape> along(Point start, Point along, double length_m, double step_m,
                                   const HeightAt& height);
  /// A tape held level: every mark is its horizontal distance.
  static Tape level(double length_m);

  [[nodiscard]] double length() const { return marks_.back(); }
  /// The mark at so many horizontal metres from the start.
  [[nodiscard]] double mark(double horizontal_m) const;

 private:
  double step_m_ = 1;
  std::vector<double> marks_;
};

}  // namespace swardline
