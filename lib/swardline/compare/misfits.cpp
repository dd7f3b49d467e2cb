// Occupied plots that score low and empty ones that score high, with the factor to blame.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace swardline {
namespace {

struct Span {
  double from = not_known, to = not_known;
  void add(double value) {
    from = std::isnan(from) ? value : std::min(from, value);
    to = std::isnan(to) ? value : std::max(to, value);
  }
};

class Misfits {
 public:
  Misfits(const Sheet& sheet, const Plan& plan, const Comparison& comparison, SpeciesComparison& species)
      : sheet_(sheet), plan_(plan), comparison_(comparison), species_(species) {
    for (std::size_t f = 0; f < sheet.factors.size(); ++f) {
      at_best_.push_back(with_factor_at_best(sheet, f));
      layer_.push_back(
          std::size_t(std::find(comparison.layers.begin(), comparison.layers.end(), sheet.factors[f].layer) -
                      comparison.layers.begin()));
    }
  }

  void find() {
    std::vector<std::size_t> low, high;
    for (std::size_t i = 0; i < species_.plots.size(); ++i) {
      const PlotAndScore& plot = species_.plots[i];
      if (plot.use != PlotUse::compared) continue;
      if (plot.occupied() && plot.score < species_.low) low.push_back(i);
      if (!plot.occupied() && plot.score >= species_.high) high.push_back(i);
    }
    const auto score = [&](std::size_t i) { return species_.plots[i].score; };
    std::stable_sort(low.begin(), low.end(), [&](auto a, auto b) { return score(a) < score(b); });
    std::stable_sort(high.begin(), high.end(), [&](auto a, auto b) { return score(a) > score(b); });
    species_.false_lows = grouped_by_blame(low, true);
    species_.false_highs = grouped_by_blame(high, false);
  }

 private:
  [[nodiscard]] const LayerValue& value(const PlotAndScore& plot, std::size_t factor) const {
    return comparison_.plots[plot.plot].values[layer_[factor]];
  }

  /// "GL", "below 26 %", "above 38 %"; empty where a line has no such sides.
  [[nodiscard]] std::string side(const PlotAndScore& plot, std::size_t factor) const {
    const Response& response = sheet_.factors[factor].response;
    const LayerValue& here = value(plot, factor);
    if (std::holds_alternative<ClassTable>(response)) return here.class_code;
    const auto* corners = std::get_if<Trapezoid>(&response);
    if (corners == nullptr) return {};
    const std::string unit = unit_of_layer(plan_, sheet_.factors[factor].layer);
    return *here.number < corners->b ? "below " + value_text(corners->b, unit)
                                     : "above " + value_text(corners->c, unit);
  }

  [[nodiscard]] double with_best(const PlotAndScore& plot, std::size_t factor) const {
    return score_at(at_best_[factor], comparison_.plots[plot.plot], comparison_.layers).score;
  }

  [[nodiscard]] Misfit misfit(std::size_t i, bool low) const {
    Misfit one;
    one.plot = i;
    if (!low) return one;
    const PlotAndScore& plot = species_.plots[i];
    double best = plot.score;
    for (std::size_t f = 0; f < sheet_.factors.size(); ++f) {
      if (std::isnan(plot.responses[f])) continue;
      if (const double raised = with_best(plot, f); raised > best + 1e-9) {
        best = raised;
        one.raised_by = f;
        one.raised_to = raised;
      }
    }
    return one;
  }

  [[nodiscard]] std::vector<MisfitGroup> grouped_by_blame(const std::vector<std::size_t>& plots, bool low) {
    std::map<std::pair<std::size_t, std::string>, MisfitGroup> groups;
    const std::size_t nothing = sheet_.factors.size();
    for (const std::size_t i : plots) {
      const PlotAndScore& plot = species_.plots[i];
      const std::size_t blamed = plot.held_down_by.value_or(nothing);
      const std::string where = blamed == nothing ? std::string() : side(plot, blamed);
      MisfitGroup& group = groups[{blamed, where}];
      if (plot.held_down_by) group.blamed = blamed;
      group.where = where;
      group.plots.push_back(misfit(i, low));
    }
    std::vector<MisfitGroup> out;
    for (auto& [key, group] : groups) {
      if (low) look_at_empty_ground(group);
      group.sentence = sentence(group, low);
      if (low) group.remedy = remedy(group);
      out.push_back(std::move(group));
    }
    std::stable_sort(out.begin(), out.end(), [](const MisfitGroup& a, const MisfitGroup& b) {
      return a.plots.size() > b.plots.size();
    });
    return out;
  }

  [[nodiscard]] bool alike(const MisfitGroup& group, const PlotAndScore& plot, const Span& range) const {
    const LayerValue& here = value(plot, *group.blamed);
    if (std::holds_alternative<ClassTable>(sheet_.factors[*group.blamed].response))
      return here.class_code == group.where;
    return here.number && *here.number >= range.from && *here.number <= range.to;
  }

  [[nodiscard]] Span values_of(const MisfitGroup& group) const {
    Span range;
    for (const Misfit& one : group.plots)
      if (const auto& number = value(species_.plots[one.plot], *group.blamed).number) range.add(*number);
    return range;
  }

  [[nodiscard]] std::vector<const PlotAndScore*> empty_alike(const MisfitGroup& group) const {
    const Span range = values_of(group);
    std::vector<const PlotAndScore*> out;
    for (const PlotAndScore& plot : species_.plots)
      if (plot.use == PlotUse::compared && !plot.occupied() && alike(group, plot, range))
        out.push_back(&plot);
    return out;
  }

  void look_at_empty_ground(MisfitGroup& group) const {
    if (!group.blamed) return;
    Span raised;
    for (const Misfit& one : group.plots) raised.add(with_best(species_.plots[one.plot], *group.blamed));
    group.at_best_from = raised.from;
    group.at_best_to = raised.to;
    for (const PlotAndScore* plot : empty_alike(group)) {
      ++group.empty_alike;
      if (with_best(*plot, *group.blamed) > plot->score + 1e-9) ++group.empty_would_rise;
    }
  }

  [[nodiscard]] Span responses(const MisfitGroup& group, std::size_t factor) const {
    Span range;
    for (const Misfit& one : group.plots)
      if (const double r = species_.plots[one.plot].responses[factor]; !std::isnan(r)) range.add(r);
    return range;
  }

  /// "cover GL 0.30", "moisture 48–52 % gives 0.00–0.10"
  [[nodiscard]] std::string blame_text(const MisfitGroup& group) const {
    const Factor& factor = sheet_.factors[*group.blamed];
    const Span response = responses(group, *group.blamed);
    const std::string gives = score_range(response.from, response.to);
    if (std::holds_alternative<ClassTable>(factor.response))
      return fmt::format("{} {} {}", factor.layer, group.where, gives);
    const Span range = values_of(group);
    return fmt::format("{} {} gives {}", factor.layer,
                       value_range(range.from, range.to, unit_of_layer(plan_, factor.layer)), gives);
  }

  /// Where the score stays at 0.00 with the blamed factor at its best: all that give next to nothing there.
  [[nodiscard]] std::vector<std::size_t> together(const MisfitGroup& group) const {
    constexpr double reads_as_none = 0.005, next_to_nothing = 0.05;
    if (!group.blamed || !(group.at_best_to < reads_as_none)) return {};
    std::vector<std::size_t> factors;
    for (std::size_t f = 0; f < sheet_.factors.size(); ++f)
      if (f == *group.blamed || responses(group, f).to < next_to_nothing) factors.push_back(f);
    return factors.size() > 1 ? factors : std::vector<std::size_t>{};
  }

  /// "cover and canopy together"
  [[nodiscard]] std::string names_together(const std::vector<std::size_t>& factors) const {
    std::vector<std::string> names;
    for (const std::size_t f : factors) names.push_back(sheet_.factors[f].layer);
    return swardline::in_words(names) + " together";
  }

  [[nodiscard]] std::string sentence(const MisfitGroup& group, bool low) const {
    Span scores;
    for (const Misfit& one : group.plots) scores.add(species_.plots[one.plot].score);
    const int number = int(group.plots.size());
    const std::string who =
        fmt::format("{} {} {}", grouped(number), low ? "occupied" : "empty", number == 1 ? "plot" : "plots");
    const std::string score = fmt::format("(score about {})", score_range(scores.from, scores.to));
    if (!group.blamed) return fmt::format("{}: every factor has full marks {}", who, score);
    std::vector<std::string> others;
    const std::vector<std::size_t> all = together(group);
    for (std::size_t f = 0; f < sheet_.factors.size(); ++f) {
      if (f == *group.blamed || std::count(all.begin(), all.end(), f) > 0 ||
          sheet_.factors[f].role != Role::limiting)
        continue;
      const Span response = responses(group, f);
      if (!std::isnan(response.from))
        others.push_back(sheet_.factors[f].layer + " " + score_range(response.from, response.to));
    }
    const std::string blame = all.empty() ? blame_text(group) : blame_text(group, all);
    if (others.empty()) return fmt::format("{}: {} {}", who, blame, score);
    return fmt::format("{}: {} but {} {}", who, swardline::in_words(others), blame, score);
  }

  /// "cover and canopy together give 0.00–0.03"
  [[nodiscard]] std::string blame_text(const MisfitGroup& group,
                                       const std::vector<std::size_t>& factors) const {
    Span range;
    for (const std::size_t f : factors) {
      const Span one = responses(group, f);
      range.add(one.from);
      range.add(one.to);
    }
    return fmt::format("{} give {}", names_together(factors), score_range(range.from, range.to));
  }

  [[nodiscard]] std::string alike_text(const MisfitGroup& group) const {
    const Factor& factor = sheet_.factors[*group.blamed];
    if (std::holds_alternative<ClassTable>(factor.response)) return "on " + group.where;
    const Span range = values_of(group);
    return fmt::format("at {} {}", factor.layer,
                       value_range(range.from, range.to, unit_of_layer(plan_, factor.layer)));
  }

  [[nodiscard]] std::string remedy(const MisfitGroup& group) const {
    if (!group.blamed) return {};
    const char* they = group.plots.size() == 1 ? "it" : "they";
    std::string text = proposed(group, they);
    if (!text.empty()) text += " ";
    if (const std::vector<std::size_t> all = together(group); !all.empty())
      return text + with_all(group, all, they);
    text += fmt::format("With {} at its best {} would score about {}", sheet_.factors[*group.blamed].layer,
                        they, score_range(group.at_best_from, group.at_best_to));
    if (group.empty_alike > 0)
      text += fmt::format("; {} of {} {} would rise too", grouped(group.empty_would_rise),
                          counted_words(group.empty_alike, "empty plot"), alike_text(group));
    text += ".";
    std::map<std::size_t, Span> others;
    for (const Misfit& one : group.plots)
      if (one.raised_by && *one.raised_by != *group.blamed) others[*one.raised_by].add(one.raised_to);
    for (const auto& [factor, raised] : others)
      text += fmt::format(" {} at its best would raise {} more: to about {}.", sheet_.factors[factor].layer,
                          they[0] == 'i' ? "it" : "some of them", score_range(raised.from, raised.to));
    return text;
  }

  [[nodiscard]] std::string with_all(const MisfitGroup& group, const std::vector<std::size_t>& factors,
                                     const char* they) const {
    Sheet best = sheet_;
    for (const std::size_t f : factors) best = with_factor_at_best(best, f);
    Span raised;
    for (const Misfit& one : group.plots)
      raised.add(score_at(best, comparison_.plots[species_.plots[one.plot].plot], comparison_.layers).score);
    return fmt::format(
        "With {} alone at its best {} would still score about {}; with {} at their best, about {}.",
        sheet_.factors[*group.blamed].layer, they, score_range(group.at_best_from, group.at_best_to),
        names_together(factors), score_range(raised.from, raised.to));
  }

  /// What the proposed sheet would do to the group and to empty plots alike.
  [[nodiscard]] std::string proposed(const MisfitGroup& group, const char* they) const {
    if (!species_.effect) return {};
    Span then, empty_now, empty_then;
    for (const Misfit& one : group.plots) {
      const PlotAndScore& plot = species_.plots[one.plot];
      if (plot.use_then != PlotUse::compared || !(std::abs(plot.score_then - plot.score) > 1e-9)) return {};
      then.add(plot.score_then);
    }
    int rise = 0, to_high = 0;
    for (const PlotAndScore* plot : empty_alike(group)) {
      if (plot->use_then != PlotUse::compared || !(plot->score_then > plot->score + 1e-9)) continue;
      ++rise;
      to_high += plot->score_then >= species_.high && plot->score < species_.high ? 1 : 0;
      empty_now.add(plot->score);
      empty_then.add(plot->score_then);
    }
    std::string text =
        fmt::format("By the proposed sheet {} would score about {}; ", they, score_range(then.from, then.to));
    if (rise == 0) return text + fmt::format("no empty plot {} would rise.", alike_text(group));
    return text + fmt::format("{} {} would rise too, from about {} to about {}, {} of them to {} or more.",
                              counted_words(rise, "empty plot"), alike_text(group),
                              score_range(empty_now.from, empty_now.to),
                              score_range(empty_then.from, empty_then.to),
                              to_high == 0 ? "none" : grouped(to_high), score_text(species_.high));
  }

  const Sheet& sheet_;
  const Plan& plan_;
  const Comparison& comparison_;
  SpeciesComparison& species_;
  std::vector<Sheet> at_best_;
  std::vector<std::size_t> layer_;
};

}  // namespace

void find_misfits(const Sheet& sheet, const Plan& plan, const Comparison& comparison,
                  SpeciesComparison& species) {
  Misfits(sheet, plan, comparison, species).find();
}

}  // namespace swardline
