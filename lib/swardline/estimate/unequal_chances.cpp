#include "swardline/estimate/unequal_chances.hpp"

#include <fmt/format.h>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

void need_chances(std::span<const double> y, std::span<const double> chances) {
  if (y.size() != chances.size()) throw Defect("counts and chances differ in number");
  for (const double chance : chances)
    if (!(chance > 0 && chance <= 1))
      throw InputError({}, fmt::format("a chance is {}.", shortest(chance)),
                       "Give chances above 0, up to 1.");
}

}  // namespace

double horvitz_thompson_total(std::span<const double> y, std::span<const double> chances) {
  need_chances(y, chances);
  double total = 0;
  for (std::size_t i = 0; i < y.size(); ++i) total += y[i] / chances[i];
  return total;
}

double hajek_mean(std::span<const double> y, std::span<const double> chances) {
  need_chances(y, chances);
  double units = 0;
  for (const double chance : chances) units += 1 / chance;
  if (!(units > 0)) throw InputError({}, "there is no unit.", "Give at least one.");
  return horvitz_thompson_total(y, chances) / units;
}

double sen_yates_grundy_variance(std::span<const double> y, std::span<const double> chances,
                                 const JointChances& joint) {
  need_chances(y, chances);
  double variance = 0;
  for (std::size_t i = 0; i < y.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const double both = joint.at(i).at(j), apart = y[i] / chances[i] - y[j] / chances[j];
      variance += (chances[i] * chances[j] - both) / both * apart * apart;
    }
  }
  return variance;
}

double horvitz_thompson_variance(std::span<const double> y, std::span<const double> chances,
                                 const JointChances& joint) {
  need_chances(y, chances);
  double variance = 0;
  for (std::size_t i = 0; i < y.size(); ++i) {
    const double zi = y[i] / chances[i];
    variance += (1 - chances[i]) * zi * zi;
    for (std::size_t j = 0; j < i; ++j) {
      const double both = joint.at(i).at(j);
      variance += 2 * (both - chances[i] * chances[j]) / both * zi * y[j] / chances[j];
    }
  }
  return variance;
}

}  // namespace swardline
