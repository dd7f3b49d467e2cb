#include "swardline/lines/declination.hpp"

#include <fmt/format.h>

#include "swardline/base/dates.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double years_trusted = 2;

void check_typed(const DeclinationSpec& spec, double today, Flags& flags) {
  const char* remedy =
      "Read it off a new survey sheet, or work it out: model = \"WMM2025.COF\" with the day of the visits.";
  if (spec.date.empty()) {
    flags.add(
        Severity::ask, "declination undated", spec.place,
        fmt::format(
            "degrees = {} has no date, and the needle's direction drifts by tenths of a degree in a few "
            "years.",
            shortest(*spec.degrees)),
        remedy);
  } else if (const double age = today - decimal_year(spec.date); age > years_trusted) {
    flags.add(Severity::ask, "declination old", spec.place,
              fmt::format("degrees = {} is of {}, {:.1f} years ago; after two years it may be off.",
                          shortest(*spec.degrees), spec.date, age),
              remedy);
  }
}

}  // namespace

Declination::Declination(const DeclinationSpec& spec) {
  if (!spec.given) return;
  typed_ = spec.degrees;
  if (typed_) {
    words_ = "declination as typed in";
    for (const std::string* part : {&spec.source, &spec.date})
      if (!part->empty()) words_ += (part == &spec.source || spec.source.empty() ? ": " : ", ") + *part;
    return;
  }
  model_ = MagneticModel::read(spec.model);
  year_ = decimal_year(spec.date);
  words_ = fmt::format("declination from {} for {}", model_->name(), spec.date);
}

std::optional<double> Declination::at(double lat, double lon, double height_m) const {
  if (typed_) return typed_;
  if (!model_) return {};
  return model_->at(lat, lon, height_m, year_).declination_deg;
}

void check_declination(const DeclinationSpec& spec, double today, Flags& flags) {
  if (!spec.given) return;
  if (spec.degrees) return check_typed(spec, today, flags);
  try {
    const MagneticModel model = MagneticModel::read(spec.model);
    if (!model.holds(decimal_year(spec.date)))
      flags.add(Severity::ask, "declination outside the model's years", spec.place,
                fmt::format("date = {} lies outside the years of {}: {:.0f} to {:.0f}.", spec.date,
                            model.name(), model.first_year(), model.last_year()),
                "Take the edition of the model for that day.");
  } catch (const Error& error) {
    flags.add(Severity::stop, "declination", spec.place, error.what());
  }
}

}  // namespace swardline
