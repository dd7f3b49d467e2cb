// Counts along each factor's value, beside what the rule says of it.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace swardline {
namespace {

constexpr std::size_t plots_in_a_range = 8, most_ranges = 8;

struct PlotOfFactor {
  const PlotAndScore* plot = nullptr;
  LayerValue value;
  double response = 0;
};

class Along {
 public:
  Along(const Sheet& sheet, std::size_t factor, const Plan& plan, const SpeciesComparison& species,
        const Comparison& comparison)
      : factor_(sheet.factors[factor]), species_(species), comparison_(comparison) {
    out_.factor = factor;
    out_.layer = factor_.layer;
    out_.unit = unit_of_layer(plan, factor_.layer);
    out_.classes = std::holds_alternative<ClassTable>(factor_.response);
    const auto layer = std::find(comparison.layers.begin(), comparison.layers.end(), factor_.layer);
    const auto index = std::size_t(layer - comparison.layers.begin());
    for (const PlotAndScore& plot : species.plots)
      if (plot.use == PlotUse::compared && !std::isnan(plot.responses[factor]))
        plots_.push_back({&plot, comparison.plots[plot.plot].values[index], plot.responses[factor]});
  }

  [[nodiscard]] FactorAlong found() {
    if (plots_.empty()) {
      out_.sentence = "No compared plot has a value of " + factor_.layer + ".";
      return out_;
    }
    if (out_.classes)
      add_classes();
    else
      add_ranges();
    add_lines();
    out_.sentence = sentence();
    return out_;
  }

 private:
  void add_part(const std::string& what, const std::vector<const PlotOfFactor*>& inside) {
    std::set<const PlotAndScore*> there;
    double response = 0, weight = 0;
    for (const PlotOfFactor* one : inside) {
      there.insert(one->plot);
      response += one->plot->weight_m2 * one->response;
      weight += one->plot->weight_m2;
    }
    ComparedPart part = part_of(
        species_.plots, [&there](const PlotAndScore& plot) { return there.contains(&plot); }, comparison_);
    part.what = what;
    part.response = weight > 0 ? response / weight : not_known;
    out_.parts.push_back(std::move(part));
  }

  void add_classes() {
    std::vector<std::pair<double, std::string>> codes;  // best first
    for (const PlotOfFactor& one : plots_) {
      const std::pair<double, std::string> entry{-one.response, one.value.class_code};
      if (std::find(codes.begin(), codes.end(), entry) == codes.end()) codes.push_back(entry);
    }
    std::sort(codes.begin(), codes.end());
    for (const auto& [response, code] : codes) {
      std::vector<const PlotOfFactor*> inside;
      for (const PlotOfFactor& one : plots_)
        if (one.value.class_code == code) inside.push_back(&one);
      add_part(code, inside);
    }
  }

  // Ranges of about as many plots each; plots of one value stay together.
  void add_ranges() {
    std::vector<const PlotOfFactor*> sorted;
    for (const PlotOfFactor& one : plots_) sorted.push_back(&one);
    const auto value = [](const PlotOfFactor* one) { return one->value.number.value_or(0); };
    std::stable_sort(sorted.begin(), sorted.end(),
                     [&](const auto* a, const auto* b) { return value(a) < value(b); });
    const std::size_t ranges = std::clamp<std::size_t>(sorted.size() / plots_in_a_range, 1, most_ranges);
    for (std::size_t from = 0, k = 1; from < sorted.size(); ++k) {
      std::size_t to = std::max(from + 1, std::min(sorted.size(), k * sorted.size() / ranges));
      if (k >= ranges) to = sorted.size();
      while (to < sorted.size() && value(sorted[to]) == value(sorted[to - 1])) ++to;
      if (sorted.size() - to < plots_in_a_range / 2) to = sorted.size();
      const double low = value(sorted[from]), high = value(sorted[to - 1]);
      add_part(value_range(low, high, out_.unit),
               {sorted.begin() + std::ptrdiff_t(from), sorted.begin() + std::ptrdiff_t(to)});
      out_.parts.back().from = low;
      out_.parts.back().to = high;
      from = to;
    }
    trace_response(value(sorted.front()), value(sorted.back()));
  }

  [[nodiscard]] double respond_at(double value) const {
    if (const auto* t = std::get_if<Trapezoid>(&factor_.response)) return respond(*t, value);
    return respond(std::get<Polyline>(factor_.response), value);
  }

  // The rule's line over the values that plots have and its own corners, with both sides of a step.
  void trace_response(double low, double high) {
    std::vector<double> corners;
    if (const auto* t = std::get_if<Trapezoid>(&factor_.response)) corners = {t->a, t->b, t->c, t->d};
    if (const auto* line = std::get_if<Polyline>(&factor_.response))
      for (const auto& [corner, share] : line->points) corners.push_back(corner);
    std::erase_if(corners, [](double corner) { return !std::isfinite(corner); });
    std::vector<double> at = {low, high};
    for (const double corner : corners)
      at.insert(at.end(), {std::nextafter(corner, corner - 1), corner, std::nextafter(corner, corner + 1)});
    std::sort(at.begin(), at.end());
    for (const double value : at) out_.response.emplace_back(value, respond_at(value));
  }

  void add_lines() {
    std::vector<double> response, density, weight, value;
    for (const PlotOfFactor& one : plots_) {
      response.push_back(one.response);
      density.push_back(one.plot->per_ha());
      weight.push_back(one.plot->weight_m2);
      if (!out_.classes) value.push_back(one.value.number.value_or(0));
    }
    out_.agreement = rank_agreement(response, density, weight);
    if (out_.agreement)
      out_.agreement_limits =
          rank_agreement_limits(*out_.agreement, equal_plots(weight), comparison_.confidence);
    out_.upper = quantile_line(response, density, weight, comparison_.quantile);
    if (!out_.classes) out_.upper_by_value = quantile_line(value, density, weight, comparison_.quantile);
  }

  [[nodiscard]] std::string part_text(const ComparedPart& part) const {
    return fmt::format("at {}{} ({} of {}, {} stems/ha)", out_.classes ? factor_.layer + " " : "", part.what,
                       part.occupied, counted_words(part.plots, "plot"), figures(part.per_ha));
  }

  [[nodiscard]] std::string sentence() const {
    std::string text =
        fmt::format("{} ({}): ", factor_.layer, factor_.role == Role::limiting ? "limiting" : "modifying");
    const auto best =
        std::max_element(out_.parts.begin(), out_.parts.end(),
                         [](const ComparedPart& a, const ComparedPart& b) { return a.per_ha < b.per_ha; });
    if (best->occupied == 0) return text + "none found anywhere along it.";
    text += fmt::format("densest {}, where the rule gives {}.", part_text(*best), score_text(best->response));
    if (out_.agreement)
      text += fmt::format(
          " Plots in order of the rule's response and of their density agree at {} ({} % limits "
          "{} to {}).",
          signed_text(*out_.agreement), percent_word(comparison_.confidence),
          signed_text(out_.agreement_limits.low), signed_text(out_.agreement_limits.high));
    else
      text += " The rule gives all these plots the same, or their densities are all alike: nothing to rank.";
    const ComparedPart* doubted = nullptr;
    for (const ComparedPart& part : out_.parts)
      if (&part != &*best && part.response < species_.low && part.occupied >= 2 &&
          (doubted == nullptr || part.per_ha > doubted->per_ha))
        doubted = &part;
    if (doubted != nullptr)
      text += fmt::format(" Stems stand {} too, where the rule gives only {}.", part_text(*doubted),
                          score_text(doubted->response));
    return text + upper_text();
  }

  // Over the responses that plots have: beyond them the line says nothing.
  [[nodiscard]] std::string upper_text() const {
    if (!out_.upper) return {};
    const auto [least, most] = std::minmax_element(
        plots_.begin(), plots_.end(),
        [](const PlotOfFactor& a, const PlotOfFactor& b) { return a.response < b.response; });
    const auto begins = [this](double response) { return figures(std::max(0.0, out_.upper->at(response))); };
    return fmt::format(
        " The upper {} % of plots begin at {} stems/ha where the response is {} and at {} where it is {}.",
        percent_word(1 - comparison_.quantile), begins(least->response), score_text(least->response),
        begins(most->response), score_text(most->response));
  }

  const Factor& factor_;
  const SpeciesComparison& species_;
  const Comparison& comparison_;
  std::vector<PlotOfFactor> plots_;
  FactorAlong out_;
};

}  // namespace

std::vector<FactorAlong> along_factors(const Sheet& sheet, const Plan& plan, const SpeciesComparison& species,
                                       const Comparison& comparison) {
  std::vector<FactorAlong> all;
  for (std::size_t f = 0; f < sheet.factors.size(); ++f)
    all.push_back(Along(sheet, f, plan, species, comparison).found());
  return all;
}

}  // namespace swardline
