// The answers in words: a table over all species, what stands behind it, and what falls short.
#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/effort/columns.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/effort/sample_size.hpp"

namespace swardline {
namespace {

constexpr double too_uncertain = 0.6;  // a coefficient of variation above it is named (design rule)

std::string percent(double share) { return fmt::format("{:.3g} %", 100 * share); }

std::string points(double share) { return fmt::format("{:.3g} points", 100 * share); }

std::string rounded(double value) { return shortest(std::round(100 * value) / 100); }

std::string up(double plots) { return grouped(std::int64_t(std::ceil(plots - 1e-9))); }

const char* heading(Question question) {
  switch (question) {
    case Question::limits:
      return "limits";
    case Question::change:
      return "change";
    case Question::occupied:
      return "occupied";
    case Question::occupied_change:
      return "its change";
    case Question::find_one:
      return "one find";
  }
  return "";
}

// "limits of ±25 %", as it is asked.
std::string asked(Question question, const EffortSpec& spec) {
  switch (question) {
    case Question::limits:
      return fmt::format("limits of ±{}", percent(*spec.precision));
    case Question::change:
      return fmt::format("a change of {}", percent(*spec.change));
    case Question::occupied:
      return fmt::format("the share of plots occupied within ±{}", points(*spec.occupied_within));
    case Question::occupied_change:
      return fmt::format("a change of that share by {}", points(*spec.occupied_change));
    case Question::find_one:
      return fmt::format("at least one find with {} certainty", percent(*spec.find_one));
  }
  return "";
}

// What is known of one answer at a number of plots; nothing where it is not.
std::optional<double> value(Question question, const Reach& reach) {
  switch (question) {
    case Question::limits:
      return reach.limits;
    case Question::change:
      return reach.change;
    case Question::occupied:
      return reach.occupied;
    case Question::occupied_change:
      return reach.occupied_change;
    case Question::find_one:
      return reach.find_one;
  }
  return std::nullopt;
}

std::string given(Question question, double value) {
  switch (question) {
    case Question::limits:
      return "±" + percent(value);
    case Question::occupied:
      return "±" + points(value);
    case Question::occupied_change:
      return points(value);
    default:
      return percent(value);
  }
}

class Words {
 public:
  Words(const Effort& effort, const Plan& plan) : effort_(effort), spec_(plan.effort) {
    for (const Answer& answer : effort.species.front().answers) questions_.push_back(answer.question);
  }

  std::string all() const {
    std::string out = needs_table();
    if (effort_.available()) out += given_table();
    out += limits_table();
    for (const SpeciesEffort& species : effort_.species) out += species_words(species);
    out += assumptions() + shortfalls();
    out.pop_back();  // lines end where they are printed
    return out;
  }

 private:
  // Plots to be planned for every question, a row a species.
  std::string needs_table() const {
    std::vector<std::string> top = {"species"};
    for (const Question question : questions_) top.emplace_back(heading(question));
    Columns table(top);
    for (const SpeciesEffort& species : effort_.species) {
      std::vector<std::string> row = {species.spread.code};
      for (const Answer& answer : species.answers)
        row.push_back(answer.need ? grouped(answer.need->planned) : "-");
      table.add(std::move(row));
    }
    return "Plots to plan for each question:\n" + table.text();
  }

  // What the plots there are give, a row a species.
  std::string given_table() const {
    const int plots = *effort_.available();
    std::vector<std::string> top = {"species", "limits", "variation",
                                    fmt::format("{:.0f} h more", more_hours)};
    for (const Question question : questions_)
      if (question != Question::limits) top.emplace_back(heading(question));
    Columns table(top);
    for (const SpeciesEffort& species : effort_.species) {
      const Reach* reach = effort_.reach_at(species, plots);
      if (reach == nullptr) continue;
      std::vector<std::string> row = {species.spread.code, cell(Question::limits, *reach),
                                      reach->variation ? percent(*reach->variation) : "-",
                                      cell(Question::limits, species.with_more)};
      for (const Question question : questions_)
        if (question != Question::limits) row.push_back(cell(question, *reach));
      table.add(std::move(row));
    }
    return fmt::format(
               "What {} planned plots give (limits at {}; variation: the estimated mean's coefficient of "
               "variation; {:.0f} person-hours more make {} plots):\n",
               grouped(plots), percent(spec_.confidence), more_hours, grouped(effort_.more_plots)) +
           table.text();
  }

  static std::string cell(Question question, const Reach& reach) {
    const std::optional<double> known = value(question, reach);
    return known ? given(question, *known) : "-";
  }

  std::string limits_table() const {
    std::vector<std::string> top = {"plots", "hours"};
    std::vector<const SpeciesEffort*> known;
    for (const SpeciesEffort& species : effort_.species) {
      if (!species.spread.unanswered.empty()) continue;
      known.push_back(&species);
      top.push_back(species.spread.code);
    }
    if (known.empty() || effort_.plots.empty()) return {};
    Columns table(top);
    for (std::size_t i = 0; i < effort_.plots.size(); ++i) {
      std::vector<std::string> row = {grouped(effort_.plots[i]), fmt::format("{:.0f}", effort_.hours[i])};
      for (const SpeciesEffort* species : known)
        row.push_back(fmt::format("±{:.0f} %", 100 * species->reach[i].limits.value_or(0)));
      table.add(std::move(row));
    }
    return fmt::format("Limits at {} by planned plots and person-hours:\n", percent(spec_.confidence)) +
           table.text();
  }

  std::string species_words(const SpeciesEffort& species) const {
    const ExpectedSpread& spread = species.spread;
    std::string out = spread.code + "\n";
    if (spread.unanswered.empty())
      out += fmt::format("  Mean {}, standard deviation {} per plot ({}).\n", rounded(spread.mean),
                         rounded(spread.sd), spread.basis);
    if (spread.occupied && asks_share())
      out += fmt::format("  {} of plots occupied ({}).\n", percent(*spread.occupied), spread.occupied_basis);
    for (const Answer& answer : species.answers) {
      const std::string what = asked(answer.question, spec_);
      out += answer.need ? fmt::format("  For {}: {}.\n", what, need_words(species, answer))
                         : fmt::format("  {}{} cannot be planned for: {}.\n", char(std::toupper(what[0])),
                                       what.substr(1), answer.unanswered);
    }
    if (!spread.advice.empty()) out += "  " + spread.advice + "\n";
    return out;
  }

  bool asks_share() const { return spec_.occupied_within || spec_.occupied_change || spec_.find_one; }

  // "98 plots by the formula (79 where 400 fit), 100 by Student's t, …; 126 to plan with 10 % not counted".
  std::string need_words(const SpeciesEffort& species, const Answer& answer) const {
    const Need& need = *answer.need;
    std::string out = up(need.by_formula) + " plots by the formula";
    const double possible = effort_.possible_plots;
    switch (answer.question) {
      case Question::limits:
        out += where_few_fit(need, up(plots_in_finite_area(std::ceil(need.by_formula - 1e-9), possible)));
        out += fmt::format(", {} by Student's t, {} to count so that {} of samples keep them", need.by_test,
                           need.counted, percent(spec_.assurance));
        break;
      case Question::change:
        out += fmt::format(", {} by Student's t, {} ({} false changes, {} power)", need.by_test,
                           spec_.same_plots
                               ? fmt::format("the same in both seasons, differences' standard deviation {}",
                                             rounded(*species.spread.sd_of_differences))
                               : "others in each season",
                           percent(spec_.false_change), percent(spec_.power));
        if (answer.on_separate_plots)
          out += fmt::format("; {} in each season on separate plots", up(*answer.on_separate_plots));
        break;
      case Question::occupied:
        out += where_few_fit(need, grouped(need.counted));
        out += few(*species.spread.occupied, need.counted);
        break;
      case Question::occupied_change:
        out += fmt::format(", {} by the test's own limit, others in each season ({} false changes, {} power)",
                           need.by_test, percent(spec_.false_change), percent(spec_.power));
        break;
      case Question::find_one:
        if (need.counted < need.by_test) out += fmt::format(", all {} that fit", need.counted);
        break;
    }
    if (spec_.refused > 0)
      out += fmt::format("; {} to plan with {} not counted", need.planned, percent(spec_.refused));
    return out + fmt::format("; {:.0f} person-hours", need.hours);
  }

  std::string where_few_fit(const Need& need, const std::string& fewer) const {
    return fewer == up(need.by_formula)
               ? std::string()
               : fmt::format(" ({} where {} fit)", fewer, grouped(std::int64_t(effort_.possible_plots)));
  }

  // Limits of a share by the normal distribution hold where some of either kind are counted (Cochran 1977
  // §3.6).
  static std::string few(double share, int plots) {
    const double rarer = std::min(share, 1 - share) * plots;
    return rarer >= 5 ? std::string()
                      : fmt::format(" (only about {:.0f} of them {}: true limits are wider)", rarer,
                                    share < 0.5 ? "occupied" : "empty");
  }

  std::string assumptions() const {
    std::string out = fmt::format(
        "Person-hours: {} {}, {} visit{}, {} minutes a plot, {} m a minute between plots, {} minutes to get "
        "to a site "
        "and back for each {} hours there.\n",
        spec_.people, spec_.people == 1 ? "person" : "people", spec_.visits, spec_.visits == 1 ? "" : "s",
        shortest(spec_.minutes_per_plot), shortest(spec_.walk_m_per_minute), shortest(spec_.minutes_per_site),
        shortest(spec_.hours_per_day));
    if (spec_.people == 1)
      out += "One person alone: local rules and common practice ask for two in the field.\n";
    out += "Numbers are those of simple random plots; strata and an even spread make limits narrower.\n";
    if (!spec_.pilot.empty())
      out +=
          "The pilot's plots are taken to be of the plan's size and shape; with others, its spread does not "
          "hold.\n";
    return out;
  }

  std::string shortfalls() const {
    std::string out;
    if (effort_.planned && effort_.affordable && *effort_.planned > *effort_.affordable)
      out += fmt::format("SHORT hours: {} planned plots take {:.0f} person-hours; {} pay for {}.\n",
                         grouped(*effort_.planned), effort_.planned_hours, shortest(*spec_.hours),
                         grouped(*effort_.affordable));
    else if (effort_.affordable)
      out += fmt::format("{} person-hours pay for {} planned plots.\n", shortest(*spec_.hours),
                         grouped(*effort_.affordable));
    if (!effort_.available()) {
      out += "How many plots are planned is known after a draw.\n";
      return out;
    }
    for (const Failing& failing : effort_.failing) out += failing_words(failing);
    for (const SpeciesEffort& species : effort_.species)
      if (const Reach* reach = effort_.reach_at(species, *effort_.available());
          reach != nullptr && reach->variation.value_or(0) > too_uncertain)
        out += fmt::format(
            "{} would have a coefficient of variation of {} with {} plots: say so before anyone "
            "drives.\n",
            species.spread.code, percent(*reach->variation), *effort_.available());
    return out;
  }

  std::string failing_words(const Failing& failing) const {
    const auto species =
        std::find_if(effort_.species.begin(), effort_.species.end(),
                     [&](const SpeciesEffort& s) { return s.spread.code == failing.species; });
    const Need& need = *species->answer(failing.question)->need;
    const int there_are = *effort_.available();
    const bool affordable = effort_.affordable && there_are == *effort_.affordable;
    std::string out =
        fmt::format("SHORT {}: {} plots by the formula for {} ({} to plan), more than the {} {}",
                    failing.species, up(need.by_formula), asked(failing.question, spec_),
                    grouped(failing.needed), grouped(there_are), affordable ? "affordable" : "planned");
    const Reach* reach = effort_.reach_at(*species, there_are);
    const std::optional<double> known = reach ? value(failing.question, *reach) : std::nullopt;
    if (known) out += fmt::format(", which {} {}", shows(failing.question), given(failing.question, *known));
    return out + (&failing == &effort_.failing.front() && effort_.failing.size() > 1
                      ? ". The first to fail.\n"
                      : ".\n");
  }

  static const char* shows(Question question) {
    switch (question) {
      case Question::change:
      case Question::occupied_change:
        return "show a change of";
      case Question::find_one:
        return "find one with";
      default:
        return "give";
    }
  }

  const Effort& effort_;
  const EffortSpec& spec_;
  std::vector<Question> questions_;
};

}  // namespace

std::string in_words(const Effort& effort, const Plan& plan) {
  return effort.species.empty() ? std::string() : Words(effort, plan).all();
}

}  // namespace swardline
