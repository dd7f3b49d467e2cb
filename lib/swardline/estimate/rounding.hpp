// Numbers for people, no finer than they are known. Tables hold the numbers unrounded.
//
// A standard error keeps three figures, four where the first is 1 (535; 22,500; 1,806), and the estimate is
// rounded to the same place (1,367; 57,400; 4,286). Limits that are multiples of the estimate (log-based,
// nothing found) keep two figures, three where the first is 1 or 2 (650 to 2,860). Limits that are the
// estimate plus and minus something are rounded to the 1, 2 or 5 × 10^k next below a hundredth of the
// standard error (320 to 2,415).
//
// Where an estimate stands beside its limits alone, no standard error with it, all three are rounded to one
// place, so that no digit is said that the limits make meaningless: that of the second figure of the nearer
// limit's distance (common practice; two figures of an uncertainty: JCGM 100:2008, 7.2.6), but no finer than
// the third of the farther one's, and finer only where both limits are above nothing and the lower one would
// be said as 0, or the estimate with one figure. 1,370 (650 to 2,860); 57,000 (27,000 to 120,000); 12 (2 to
// 291).
#pragma once

#include <string>

#include "swardline/estimate/limits.hpp"

namespace swardline {

/// To a whole multiple of `step`, halves away from zero.
[[nodiscard]] double rounded_to(double value, double step);

/// The place to which an estimate with this standard error is rounded: a power of ten.
[[nodiscard]] double step_of(double standard_error);
/// The step of symmetric limits: 1, 2 or 5 × a power of ten.
[[nodiscard]] double step_of_symmetric(double standard_error);
/// To two figures, three where the first is 1 or 2.
[[nodiscard]] double rounded_multiple(double value);

/// Digits as people read them: "1,043.0" of "1043.0", "−83" of "-83".
[[nodiscard]] std::string with_thousands(const std::string& digits);
/// "57,400", "0.38", "−3.20": as many places after the point as `step` has.
[[nodiscard]] std::string in_steps(double value, double step);
/// "1,367" of an estimate; without a standard error to three figures.
[[nodiscard]] std::string said_estimate(double value, double standard_error);
[[nodiscard]] std::string said_error(double standard_error);
/// "650", "2,860"
[[nodiscard]] std::string said_multiple(double value);
/// "650–2,860"
[[nodiscard]] std::string said_limits(LowHigh limits, bool symmetric, double standard_error);

/// The place to which an estimate and its limits are rounded together: a power of ten; 0 where both limits
/// are the estimate.
[[nodiscard]] double step_beside_limits(double value, LowHigh limits);

}  // namespace swardline
