// The plan's declination, typed in or worked out, and whether it can still be trusted.
#pragma once

#include <optional>
#include <string>

#include "swardline/base/flag.hpp"
#include "swardline/geo/magnetic.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

class Declination {
 public:
  /// Reads the model's file where the plan names one. Throws InputError where it is none.
  explicit Declination(const DeclinationSpec& spec);
  /// Degrees east of true north; nothing where the plan says nothing of it.
  [[nodiscard]] std::optional<double> at(double lat, double lon, double height_m = 0) const;
  /// "declination from WMM-2025 for 2027-05-28", "declination as typed in: survey sheet 14, 2026-03-01".
  [[nodiscard]] const std::string& words() const { return words_; }

 private:
  std::optional<double> typed_;
  std::optional<MagneticModel> model_;
  double year_ = 0;
  std::string words_;
};

/// ASK for a typed declination without a date or older than two years, and for a day outside the model's
/// years; STOP for a model that cannot be read. `today` is a decimal year.
void check_declination(const DeclinationSpec& spec, double today, Flags& flags);

}  // namespace swardline
