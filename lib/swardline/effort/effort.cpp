#include "swardline/effort/effort.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/effort/answers.hpp"

namespace swardline {
namespace {

double possible_plots(const Plan& plan, const std::vector<SiteWork>& sites) {
  double ground = 0;
  for (const SiteWork& site : sites) ground += site.area_m2;
  const double possible = std::floor(ground / plan.sample.unit_area_m2());
  if (possible < 2)
    throw InputError(plan.sample.place,
                     fmt::format("the survey areas hold {:.0f} m², and a plot takes {} m²: nothing to plan.",
                                 ground, shortest(plan.sample.unit_area_m2())),
                     "Make plots smaller, or look at what is cut out of the sites.");
  return possible;
}

// Round numbers, and those that matter.
std::vector<int> numbers_to_show(const Effort& effort) {
  std::vector<int> plots;
  const int most = std::max({100, 2 * effort.planned.value_or(0), 2 * effort.affordable.value_or(0)});
  for (const int step : {10, 20, 30, 50, 75, 100, 150, 200, 300, 400, 500, 750, 1000, 1500, 2000, 3000, 5000})
    if (step <= most) plots.push_back(step);
  for (const int own : {effort.planned.value_or(0), effort.affordable.value_or(0)})
    if (own >= 2) plots.push_back(own);
  std::sort(plots.begin(), plots.end());
  plots.erase(std::unique(plots.begin(), plots.end()), plots.end());
  std::erase_if(plots, [&](int n) { return n > effort.possible_plots; });
  return plots;
}

void find_failing(Effort& effort) {
  const std::optional<int> there_are = effort.available();
  if (!there_are) return;
  for (const SpeciesEffort& species : effort.species)
    for (const Answer& answer : species.answers)
      if (answer.need && answer.need->planned > *there_are)
        effort.failing.push_back({species.spread.code, answer.question, answer.need->planned});
  // What needs most plots is the first to fail when there are fewer and fewer.
  std::stable_sort(effort.failing.begin(), effort.failing.end(),
                   [](const Failing& a, const Failing& b) { return a.needed > b.needed; });
}

// Where nothing at all can be answered, the plan is at fault, and the first reason says how.
void refuse_silence(const Effort& effort, const EffortSpec& spec) {
  for (const SpeciesEffort& species : effort.species)
    for (const Answer& answer : species.answers)
      if (answer.need) return;
  if (effort.species.empty() || effort.species.front().answers.empty())
    throw InputError(spec.place, "asks nothing: how big a change matters?",
                     "Write change = 0.20, or say how wide the limits may be: precision = 0.25.");
  const SpeciesEffort& first = effort.species.front();
  const std::size_t others = effort.species.size() - 1;
  const std::string& why = first.answers.front().unanswered;
  const bool nothing_known = why == first.spread.unanswered || why == first.spread.occupied_unanswered;
  throw InputError(
      spec.place,
      fmt::format("no question can be answered: {}: {}{}.", first.spread.code, why,
                  others == 0 ? "" : fmt::format(" ({} more species like it)", others)),
      nothing_known ? fmt::format("Name a pilot of {} plots or more where the species grows, or give what is "
                                  "expected in [effort.expected.{}].",
                                  least_pilot_plots, first.spread.code)
                    : fmt::format("Ask for wider limits or another change under [effort], or give what is "
                                  "expected in [effort.expected.{}].",
                                  first.spread.code));
}

}  // namespace

const Answer* SpeciesEffort::answer(Question question) const {
  const auto found =
      std::find_if(answers.begin(), answers.end(), [&](const Answer& a) { return a.question == question; });
  return found == answers.end() ? nullptr : &*found;
}

std::optional<int> Effort::available() const {
  if (planned && affordable) return std::min(*planned, *affordable);
  return planned ? planned : affordable;
}

const Reach* Effort::reach_at(const SpeciesEffort& of, int number) const {
  const auto at = std::find(plots.begin(), plots.end(), number);
  return at == plots.end() ? nullptr : &of.reach[std::size_t(at - plots.begin())];
}

bool Effort::holds() const {
  const bool paid = !planned || !affordable || *planned <= *affordable;
  const bool answered = std::all_of(species.begin(), species.end(), [](const SpeciesEffort& one) {
    return std::all_of(one.answers.begin(), one.answers.end(),
                       [](const Answer& a) { return a.need.has_value(); });
  });
  return paid && answered && failing.empty();
}

std::optional<int> plots_asked(const Plan& plan, const std::map<std::string, int>& drawn) {
  if (plan.sample.total) return plan.sample.total;
  if (drawn.empty()) return std::nullopt;
  return std::accumulate(drawn.begin(), drawn.end(), 0,
                         [](int sum, const auto& stratum) { return sum + stratum.second; });
}

Effort work_out_effort(const Season& season, const std::vector<ExpectedSpread>& spreads,
                       const std::vector<SiteWork>& sites, std::optional<int> planned) {
  const EffortSpec& spec = season.plan.effort;
  Effort effort;
  effort.planned = planned;
  effort.possible_plots = possible_plots(season.plan, sites);
  if (planned) effort.planned_hours = hours_for(*planned, sites, spec);
  if (spec.hours) effort.affordable = plots_for_hours(*spec.hours, sites, spec);
  effort.plots = numbers_to_show(effort);
  for (const int plots : effort.plots) effort.hours.push_back(hours_for(plots, sites, spec));
  if (const std::optional<int> available = effort.available())
    effort.more_plots = plots_for_hours(hours_for(*available, sites, spec) + more_hours, sites, spec);
  const Answers answers(spec, sites, effort.possible_plots);
  for (const ExpectedSpread& spread : spreads) {
    SpeciesEffort species{spread, answers.of(spread), {}, {}};
    for (const int plots : effort.plots) species.reach.push_back(answers.reach(spread, plots));
    if (effort.more_plots > 0) species.with_more = answers.reach(spread, effort.more_plots);
    effort.species.push_back(std::move(species));
  }
  refuse_silence(effort, spec);
  find_failing(effort);
  return effort;
}

std::string settle_total(Season& season, const Sites& sites, Flags& flags) {
  SampleSpec& sample = season.plan.sample;
  const EffortSpec& spec = season.plan.effort;
  if (sample.total_from == TotalFrom::number) return {};
  const std::vector<SiteWork> ground = ground_of(season.plan, sites);
  const double possible = possible_plots(season.plan, ground);
  if (sample.total_from == TotalFrom::hours) {
    const int plots = plots_for_hours(spec.hours.value_or(0), ground, spec);
    if (plots < 1)
      throw InputError(
          spec.place,
          fmt::format("{} person-hours do not pay for one plot.", shortest(spec.hours.value_or(0))),
          "Give more hours, or fewer sites.");
    sample.total = int(std::min(double(plots), possible));
    return plots > possible
               ? fmt::format("The total of {} is all that fit side by side.", grouped(*sample.total))
               : fmt::format("The total of {} is what {} person-hours pay for.", grouped(*sample.total),
                             shortest(*spec.hours));
  }
  const Pilot pilot = read_pilot(season, flags);
  flags.throw_if_stopped();
  const Effort effort = work_out_effort(season, expected_spreads(season, pilot, flags), ground, std::nullopt);
  const SpeciesEffort* most = nullptr;
  std::vector<std::string> left_out;
  for (const SpeciesEffort& species : effort.species) {
    const Answer* limits = species.answer(Question::limits);
    if (limits == nullptr || !limits->need)
      left_out.push_back(species.spread.code);
    else if (most == nullptr || limits->need->planned > most->answer(Question::limits)->need->planned)
      most = &species;
  }
  if (most == nullptr)
    throw InputError(spec.place,
                     "no species' limits can be planned for, so total = \"precision\" gives no number.",
                     "Give a pilot or [effort.expected], or write total as a number.");
  if (!left_out.empty())
    flags.add(
        Severity::ask, "total without some species", spec.place,
        fmt::format("the total does not heed {}: nothing is known of their spread.", in_words(left_out)),
        "swardline effort says why. Name those that count in species.");
  sample.total = int(std::min(double(most->answer(Question::limits)->need->planned), possible));
  return fmt::format("The total of {} is what limits of ±{:.3g} % of {} need.", grouped(*sample.total),
                     100 * spec.precision.value_or(0), most->spread.code);
}

}  // namespace swardline
