// Upper tail of the chi-square distribution, by the series and the continued fraction of the
// incomplete gamma function (Abramowitz & Stegun 1964, 6.5.29 and 6.5.31).
#pragma once

#include <cmath>

namespace swardline {

inline double chi_square_upper(double value, double degrees) {
  const double a = degrees / 2, x = value / 2;
  if (x <= 0) return 1;
  const double front = std::exp(-x + a * std::log(x) - std::lgamma(a));
  if (x < a + 1) {
    double term = 1 / a, sum = term;
    for (int n = 1; n < 10000 && term > 1e-16 * sum; ++n) {
      term *= x / (a + n);
      sum += term;
    }
    return 1 - front * sum;
  }
  constexpr double tiny = 1e-300;
  double b = x + 1 - a, c = 1 / tiny, d = 1 / b, h = d;
  for (int n = 1; n < 10000; ++n) {
    const double step = -n * (n - a);
    b += 2;
    d = 1 / (std::abs(step * d + b) < tiny ? tiny : step * d + b);
    c = std::abs(b + step / c) < tiny ? tiny : b + step / c;
    h *= d * c;
    if (std::abs(d * c - 1) < 1e-15) break;
  }
  return front * h;
}

}  // namespace swardline
