#include "swardline/estimate/rounding.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstdint>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

/// The power of ten at or below a number above 0.
int power_below(double value) { return int(std::floor(std::log10(value) + 1e-9)); }

double ten_to(int power) { return std::pow(10.0, power); }

}  // namespace

double rounded_to(double value, double step) { return std::round(value / step) * step; }

double step_of(double standard_error) {
  return standard_error > 0 && std::isfinite(standard_error) ? ten_to(power_below(standard_error / 2) - 2)
                                                             : 0;
}

double step_of_symmetric(double standard_error) {
  if (!(standard_error > 0) || !std::isfinite(standard_error)) return 0;
  const double finest = standard_error / 100, ten = ten_to(power_below(finest));
  return finest >= 5 * ten ? 5 * ten : finest >= 2 * ten ? 2 * ten : ten;
}

double rounded_multiple(double value) {
  if (!(value > 0) || !std::isfinite(value)) return value;
  const double first = value / ten_to(power_below(value));
  return rounded_to(value, ten_to(power_below(value) - (first < 3 ? 2 : 1)));
}

std::string with_thousands(const std::string& number) {
  const bool below = !number.empty() && number.front() == '-';
  const std::string digits = number.substr(below ? 1 : 0);
  const std::size_t whole = std::min(digits.find_first_not_of("0123456789"), digits.size());
  const bool plain = whole > 0 && whole < 16 && digits.find_first_not_of("0123456789.") == digits.npos;
  return (below ? "−" : "") +
         (plain ? grouped(std::stoll(digits.substr(0, whole))) + digits.substr(whole) : digits);
}

std::string in_steps(double value, double step) {
  if (!(step > 0) || !std::isfinite(value)) return with_thousands(shortest(value));
  const double round = rounded_to(value, step);
  const int places = std::max(0, -power_below(step));
  if (std::abs(round) > 9e15) return fmt::format("{:.3g}", value);
  return with_thousands(fmt::format("{:.{}f}", round + 0.0, places));
}

std::string said_estimate(double value, double standard_error) {
  if (standard_error > 0) return in_steps(value, step_of(standard_error));
  return value > 0 ? in_steps(value, ten_to(power_below(value) - 2)) : shortest(value);
}

std::string said_error(double standard_error) { return in_steps(standard_error, step_of(standard_error)); }

std::string said_multiple(double value) {
  if (!(value > 0) || !std::isfinite(value)) return shortest(value);
  const double round = rounded_multiple(value);
  const double first = round / ten_to(power_below(round));
  return in_steps(round, ten_to(power_below(round) - (first < 3 ? 2 : 1)));
}

std::string said_limits(LowHigh limits, bool symmetric, double standard_error) {
  if (!symmetric) return said_multiple(limits.low) + "–" + said_multiple(limits.high);
  const double step = step_of_symmetric(standard_error);
  return in_steps(limits.low, step) + (limits.low < 0 ? " to " : "–") + in_steps(limits.high, step);
}

double step_beside_limits(double value, LowHigh limits) {
  const double below = value - limits.low, above = limits.high - value;
  // A limit that is the estimate itself says nothing of how well it is known.
  const double nearer = below > 0 && above > 0 ? std::min(below, above) : std::max(below, above);
  const double farther = std::max(below, above);
  if (!(nearer > 0) || !std::isfinite(farther)) return 0;
  int power = std::max(power_below(nearer) - 1, power_below(farther) - 2);
  if (limits.low > 0) power = std::min({power, power_below(limits.low), power_below(value) - 1});
  return ten_to(power);
}

}  // namespace swardline
