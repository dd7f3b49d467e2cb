#include "swardline/effort/answers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double most_plots = 1e6;  // beyond, no season is planned, and the adjustments take long
constexpr const char* too_many = "it needs more than a million plots";

/// Rounded up, unless it is whole but for the last bits.
int whole(double plots) { return int(std::ceil(plots - 1e-9)); }

}  // namespace

Answers::Answers(const EffortSpec& spec, const std::vector<SiteWork>& sites, double possible_plots)
    : spec_(spec),
      sites_(sites),
      possible_(possible_plots),
      test_{spec.false_change, spec.power, false},
      revisit_(spec.same_plots ? Revisit::same_plots : Revisit::separate_plots) {}

std::vector<Answer> Answers::of(const ExpectedSpread& spread) const {
  std::vector<Answer> answers;
  if (spec_.precision) answers.push_back(limits(spread));
  if (spec_.change) answers.push_back(change(spread));
  if (spec_.occupied_within) answers.push_back(occupied(spread));
  if (spec_.occupied_change) answers.push_back(occupied_change(spread));
  if (spec_.find_one) answers.push_back(find_one(spread));
  return answers;
}

void Answers::finish(Need& need) const {
  need.planned = whole(need.counted / (1 - spec_.refused));
  need.hours = hours_for(need.planned, sites_, spec_);
}

Answer Answers::limits(const ExpectedSpread& spread) const {
  Answer answer{Question::limits, {}, spread.unanswered, {}};
  if (!answer.unanswered.empty()) return answer;
  const double half_width = *spec_.precision * spread.mean;
  Need need;
  need.by_formula = plots_for_mean(spread.sd, half_width, spec_.confidence);
  if (need.by_formula > most_plots) {
    answer.unanswered = too_many;
    return answer;
  }
  need.by_test = plots_for_mean_by_t(spread.sd, half_width, spec_.confidence);
  const int adjusted = plots_with_assurance(whole(need.by_formula), spec_.confidence, spec_.assurance);
  need.counted = whole(plots_in_finite_area(adjusted, possible_));
  finish(need);
  answer.need = need;
  return answer;
}

bool Answers::change_known(const ExpectedSpread& spread) const {
  return spread.unanswered.empty() && (!spec_.same_plots || spread.sd_of_differences);
}

double Answers::sd_for_change(const ExpectedSpread& spread) const {
  return spec_.same_plots ? *spread.sd_of_differences : spread.sd;
}

Answer Answers::change(const ExpectedSpread& spread) const {
  Answer answer{Question::change, {}, spread.unanswered, {}};
  if (!answer.unanswered.empty()) return answer;
  if (!change_known(spread)) {
    answer.unanswered =
        "the spread of differences on the same plots is not known: count plots in two seasons, or give "
        "sd_of_differences or a correlation";
    return answer;
  }
  const double sd = sd_for_change(spread);
  const double change = *spec_.change * spread.mean;
  Need need;
  need.by_formula = plots_for_change(sd, change, test_, revisit_);
  if (need.by_formula > most_plots) {
    answer.unanswered = too_many;
    return answer;
  }
  need.by_test = whole(plots_for_change_by_t(sd, change, test_, revisit_));
  need.counted = need.by_test;
  finish(need);
  answer.need = need;
  if (spec_.same_plots)
    answer.on_separate_plots = plots_for_change(spread.sd, change, test_, Revisit::separate_plots);
  return answer;
}

Answer Answers::occupied(const ExpectedSpread& spread) const {
  Answer answer{Question::occupied, {}, spread.occupied_unanswered, {}};
  if (!spread.occupied) return answer;
  Need need;
  need.by_formula = plots_for_share(*spread.occupied, *spec_.occupied_within, spec_.confidence);
  if (need.by_formula > most_plots) {
    answer.unanswered = too_many;
    return answer;
  }
  need.by_test = whole(need.by_formula);
  need.counted = whole(plots_for_share_in_finite_area(std::max(1.0, need.by_formula), possible_));
  finish(need);
  answer.need = need;
  return answer;
}

Answer Answers::occupied_change(const ExpectedSpread& spread) const {
  Answer answer{Question::occupied_change, {}, spread.occupied_unanswered, {}};
  if (!spread.occupied) return answer;
  const std::optional<double> after = share_after(*spread.occupied, *spec_.occupied_change);
  if (!after) {
    answer.unanswered = fmt::format("a share of {} cannot change by {}", shortest(*spread.occupied),
                                    shortest(*spec_.occupied_change));
    return answer;
  }
  Need need;
  need.by_formula = plots_for_change_of_share(*spread.occupied, *after, test_);
  if (need.by_formula > most_plots) {
    answer.unanswered = too_many;
    return answer;
  }
  need.by_test = whole(plots_for_change_of_share_pooled(*spread.occupied, *after, test_));
  need.counted = need.by_test;
  finish(need);
  answer.need = need;
  return answer;
}

Answer Answers::find_one(const ExpectedSpread& spread) const {
  Answer answer{Question::find_one, {}, spread.occupied_unanswered, {}};
  if (!spread.occupied) return answer;
  Need need;
  need.by_formula = plots_to_find_one(*spread.occupied, *spec_.find_one);
  if (need.by_formula > most_plots) {
    answer.unanswered = too_many;
    return answer;
  }
  need.by_test = whole(need.by_formula);
  // When every plot that fits is counted, what is there is found.
  need.counted = std::min(need.by_test, int(std::min(possible_, most_plots)));
  finish(need);
  answer.need = need;
  return answer;
}

Reach Answers::reach(const ExpectedSpread& spread, int planned) const {
  Reach reach;
  const double counted = std::min(std::max(2.0, planned * (1 - spec_.refused)), possible_);
  if (spread.unanswered.empty()) {
    reach.limits = half_width_of_mean(spread.sd, counted, spec_.confidence, possible_) / spread.mean;
    reach.variation = spread.sd * std::sqrt((1 - counted / possible_) / counted) / spread.mean;
    if (change_known(spread))
      reach.change = detectable_change(sd_for_change(spread), counted, test_, revisit_) / spread.mean;
  }
  if (spread.occupied) {
    reach.occupied = half_width_of_share(*spread.occupied, counted, spec_.confidence, possible_);
    reach.occupied_change = detectable_change_of_share(*spread.occupied, counted, test_);
    reach.find_one = chance_to_find_one(*spread.occupied, counted);
  }
  return reach;
}

}  // namespace swardline
