#include "swardline/field/cautions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <string_view>

#include "swardline/base/text.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

/// Said at every site, unless the plan speaks of one of `words` itself.
struct Standing {
  const char* text;
  std::vector<std::string_view> words;
  bool anywhere = false;  ///< words that stand anywhere in the plan, not only among what is said here
};
const Standing everywhere[] = {
    {"Two persons, never alone; somebody knows where you are and when you will be back.", {}},
    {"Thunder heard: leave open ground now; wait 30 minutes after the last thunder.",
     {"thunder", "lightning"}},
    {"Heat: water, shade, rest. Dizzy, sick or confused: stop, cool them, get help.", {}},
    {"Ticks, wasps, snakes: legs covered, look before hand or foot, check your skin.", {}},
    {"Water rising, or rain upstream: leave; never wade.",
     {"flood", "gauge", "wade", "under water", "high water"},
     true},
    {"Do not touch poison ivy, wild parsnip, wood nettle, water hemlock, foxglove.", {}},
    {"Protected plants: no picking, digging or seed; keep off crusts and moss.", {}},
    {"Boots and clothes clean of seed, before and after; gates as found.", {}},
    {"Never taste any plant.", {}},
};
constexpr const char* verge_lines[] = {
    "Verge: orange vest, park off the road, one side at a time, face the traffic.",
    "Stay off the carriageway; no work in poor light or where drivers see you too late.",
    "Never walk or work on a bridge, nor in a cutting with no way out.",
};
/// Common practice is not the law of the place.
constexpr const char* deferring = "Landowners, local rules and licensed practice go before this sheet.";

template <typename Item>
bool fits(const std::vector<Item>& wanted, const Item& item) {
  return wanted.empty() || std::find(wanted.begin(), wanted.end(), item) != wanted.end();
}

bool met_at_plots(const CautionSpec& caution, const SiteSpecies& site) {
  return std::all_of(caution.classes.begin(), caution.classes.end(), [&](const auto& of_layer) {
    const auto& [layer, codes] = of_layer;
    return std::any_of(codes.begin(), codes.end(), [&, &name = layer](const std::string& code) {
      return std::find(site.classes.begin(), site.classes.end(), name + ' ' + code) != site.classes.end();
    });
  });
}

/// Days of a year's range that meet the visit, those of the years beside it too.
std::optional<DayWindow> days_meeting(const std::optional<DayOfYear>& from,
                                      const std::optional<DayOfYear>& until, const Visit& visit) {
  const DayOfYear first = from.value_or(DayOfYear{1, 1}), last = until.value_or(DayOfYear{12, 31});
  for (int year = year_of(visit.from) - 1; year <= year_of(visit.until); ++year) {
    const DayWindow days = window_in({first, last}, year, 0);
    if (days.from <= visit.until && visit.from <= days.until) return days;
  }
  return std::nullopt;
}

std::string range_words(const DayWindow& days, bool has_from, bool has_until) {
  if (has_from && has_until) return short_range(days.from, days.until);
  return has_from ? "from " + short_date(days.from) : "until " + short_date(days.until);
}

class CautionList {
 public:
  CautionList(const Season& season, const SiteSpecies& site, const Visit& visit, int year)
      : season_(season), site_(site), visit_(visit), year_(year) {}

  std::vector<Caution> all() {
    for (const std::string& text : season_.plan.packet.stop_if) add(text, false, false, true);
    for (const CautionSpec& caution : season_.plan.cautions)
      if (caution.stop) of_the_plan(caution);
    closures();
    permission();
    for (const CautionSpec& caution : season_.plan.cautions)
      if (!caution.stop) of_the_plan(caution);
    known_plants(true);
    if (site_.linear)
      for (const char* text : verge_lines) add(text, true);
    for (const Standing& each : everywhere)
      if (!said_better(each)) add(each.text, false);
    known_plants(false);
    add(deferring, false);
    return std::move(list_);
  }

 private:
  void add(std::string text, bool here, bool closure = false, bool stop = false) {
    if (text.empty()) return;
    const auto same = [&](const Caution& one) { return one.text == text; };
    if (std::none_of(list_.begin(), list_.end(), same))
      list_.push_back({std::move(text), closure, here, stop});
  }

  bool said_better(const Standing& standing) const {
    const auto speaks = [&](const std::string& text) {
      const std::string lower = lower_ascii(text);
      return std::any_of(standing.words.begin(), standing.words.end(),
                         [&](std::string_view word) { return lower.find(word) != std::string::npos; });
    };
    const Plan& plan = season_.plan;
    if (std::any_of(list_.begin(), list_.end(), [&](const Caution& one) { return speaks(one.text); }))
      return true;
    return standing.anywhere && std::any_of(plan.cautions.begin(), plan.cautions.end(),
                                            [&](const CautionSpec& one) { return speaks(one.text); });
  }

  void closures() {
    for (const DayRange& range : visit_.closed)
      if (!range.permission)
        add(fmt::format("CLOSED {}: {}.", short_range(range.from, range.until), range.why), true, true);
  }

  void permission() {
    const auto said = season_.plan.visits.permission.find(site_.site);
    if (said == season_.plan.visits.permission.end()) return;
    const PermissionSpec& spec = said->second;
    const std::string days = permission_words(season_.plan, site_.site, visit_, year_);
    if (spec.status != "yes")
      add("Permission: " + days + ".", true, true);
    else if (spec.from || spec.until)
      // The note stands beside the permission on the sheet.
      add("Permission " + days.substr(5, days.find(';') - 5) + " only.", true, true);
  }

  void of_the_plan(const CautionSpec& caution) {
    if (!fits(caution.sites, site_.site) || !fits(caution.habitats, site_.habitat) ||
        !met_at_plots(caution, site_))
      return;
    std::string text = caution.text;
    if (caution.from || caution.until) {
      const auto days = days_meeting(caution.from, caution.until, visit_);
      if (!days) return;
      if (!days->holds(visit_.from) || !days->holds(visit_.until))
        text = fmt::format("{}: {}", range_words(*days, caution.from.has_value(), caution.until.has_value()),
                           text);
    }
    const bool general = caution.sites.empty() && caution.habitats.empty() && caution.classes.empty() &&
                         !caution.from && !caution.until;
    add(text, !general, false, caution.stop);
  }

  /// Plants that somebody has a warning for: known at this site, or anywhere.
  void known_plants(bool at_the_site) {
    for (const OtherPlant& plant : season_.traits.plants) {
      if (plant.warning.empty() || plant.sites.empty() == at_the_site) continue;
      if (at_the_site && !fits(plant.sites, site_.site)) continue;
      add(fmt::format("{}: {}", plant.common.empty() ? plant.name : plant.common, plant.warning),
          at_the_site);
    }
  }

  const Season& season_;
  const SiteSpecies& site_;
  const Visit& visit_;
  int year_;
  std::vector<Caution> list_;
};

}  // namespace

std::vector<Caution> cautions_for(const Season& season, const SiteSpecies& site, const Visit& visit,
                                  int year) {
  return CautionList(season, site, visit, year).all();
}

std::string permission_words(const Plan& plan, const std::string& site, const Visit& visit, int year) {
  const auto said = plan.visits.permission.find(site);
  if (said == plan.visits.permission.end()) return "not written down: ask before you enter";
  const PermissionSpec& spec = said->second;
  std::string text = spec.status;
  if (spec.status == "asked") {
    text = "asked, no answer yet: do not enter";
  } else if (spec.status != "yes") {
    text += ": do not enter";
  } else if (spec.from || spec.until) {
    Visit when = visit;
    if (when.from == no_day) when.from = when.until = day_of(year, 7, 1);
    const auto met = days_meeting(spec.from, spec.until, when);
    const DayWindow days =
        met ? *met
            : window_in({spec.from.value_or(DayOfYear{1, 1}), spec.until.value_or(DayOfYear{12, 31})}, year,
                        0);
    text += ", " + range_words(days, spec.from.has_value(), spec.until.has_value());
  }
  return spec.note.empty() ? text : text + "; " + spec.note;
}

}  // namespace swardline
