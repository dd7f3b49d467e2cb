// [visits] and [[caution]] read back as sentences.
#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/season/days.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

// A leap year, so that 29 February has a name.
std::string day_words_of(DayOfYear day) { return short_date(day_of(2028, day.month, day.day)); }

std::string closure_words(const ClosureSpec& closure) {
  std::string text =
      fmt::format("{} closed {}–{}", closure.sites.empty() ? "All sites" : in_words(closure.sites),
                  day_words_of(closure.from), day_words_of(closure.until));
  if (closure.year) text += fmt::format(" {}", *closure.year);
  return text + fmt::format(" ({})", closure.reason);
}

}  // namespace

std::string sentences_of_visits(const Plan& plan) {
  const VisitsSpec& visits = plan.visits;
  std::string text;
  if (!visits.place.file.empty())
    text += fmt::format(
        "Visits: at least {} open days each, {} of them for bad weather; {} hours a week for "
        "each person.\n",
        1 + visits.weather_days, visits.weather_days, shortest(visits.hours_per_week));
  for (const ClosureSpec& closure : visits.closures) text += closure_words(closure) + ".\n";
  for (const auto& [site, permission] : visits.permission) {
    text += fmt::format("Permission for {}: {}", site, permission.status);
    if (permission.from) text += " from " + day_words_of(*permission.from);
    if (permission.until) text += " until " + day_words_of(*permission.until);
    text += ".\n";
  }
  if (!plan.cautions.empty())
    text += counted_words(plan.cautions.size(), "caution", "cautions") + " of its own for the sheets.\n";
  return text;
}

}  // namespace swardline
