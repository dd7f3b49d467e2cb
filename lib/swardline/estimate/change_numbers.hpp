// Numbers of a change as people read them. Private to the change and the trend.
#pragma once

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <string>

#include "swardline/base/text.hpp"
#include "swardline/estimate/rounding.hpp"

namespace swardline::change_parts {

/// Decimals that show two figures of a standard error; whole numbers from 10 on.
[[nodiscard]] inline int decimals_of(double standard_error) {
  if (!(standard_error > 0) || !std::isfinite(standard_error)) return 2;
  return std::clamp(1 - int(std::floor(std::log10(standard_error))), 0, 6);
}

/// "+0.38", "−0.83", "0.00"
[[nodiscard]] inline std::string with_sign(double value, int decimals) {
  std::string digits = fmt::format("{:.{}f}", std::abs(value), decimals);
  if (digits.find_first_not_of("0.") == std::string::npos) return digits;
  digits = with_thousands(digits);
  return (value < 0 ? "−" : "+") + digits;
}

/// "−17 %" of a ratio of 0.83.
[[nodiscard]] inline std::string percent_change(double ratio) {
  const double percent = 100 * (ratio - 1);
  return with_sign(percent, std::abs(percent) < 0.95 && percent != 0 ? 1 : 0) + " %";
}

/// Thousands grouped, rounded to three figures.
[[nodiscard]] inline std::string about(double value) {
  if (value == 0) return "0";
  const double step = std::pow(10.0, std::floor(std::log10(std::abs(value))) - 2);
  const double rounded = std::round(value / step) * step;
  if (std::abs(rounded) < 100) return shortest(std::round(rounded * 1e6) / 1e6);
  return grouped(std::int64_t(std::round(rounded)));
}

/// A cell of a table: empty where nothing is known.
[[nodiscard]] inline std::string cell(const std::optional<double>& value) {
  return value && std::isfinite(*value) ? shortest(*value) : std::string();
}

[[nodiscard]] inline std::string json_number(double value) {
  return std::isfinite(value) ? shortest(value) : std::string("null");
}

}  // namespace swardline::change_parts
