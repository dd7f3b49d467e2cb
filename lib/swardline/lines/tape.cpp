#include "swardline/lines/tape.hpp"

#include <algorithm>
#include <cmath>

namespace swardline {

std::optional<Tape> Tape::along(Point start, Point along, double length_m, double step_m,
                                const HeightAt& height) {
  const auto steps = std::max<std::size_t>(1, std::size_t(std::ceil(length_m / step_m)));
  Tape tape;
  tape.step_m_ = length_m / double(steps);
  tape.marks_.push_back(0);
  std::optional<double> before = height(start);
  for (std::size_t i = 1; i <= steps; ++i) {
    const double at = double(i) * tape.step_m_;
    const std::optional<double> here = height({start.x + at * along.x, start.y + at * along.y});
    if (!before || !here) return {};
    const double rise = *here - *before;
    tape.marks_.push_back(tape.marks_.back() + std::sqrt(tape.step_m_ * tape.step_m_ + rise * rise));
    before = here;
  }
  return tape;
}

Tape Tape::level(double length_m) {
  Tape tape;
  tape.step_m_ = std::max(length_m, 1e-9);
  tape.marks_ = {0, length_m};
  return tape;
}

double Tape::mark(double horizontal_m) const {
  const double steps = std::clamp(horizontal_m / step_m_, 0.0, double(marks_.size() - 1));
  const auto whole = std::min(std::size_t(steps), marks_.size() - 2);
  return marks_[whole] + (steps - double(whole)) * (marks_[whole + 1] - marks_[whole]);
}

}  // namespace swardline
