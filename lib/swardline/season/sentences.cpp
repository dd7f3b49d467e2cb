// Plan and sheets read back in words. There is no expression language, so that this can be complete.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

std::string capital(std::string text) {
  if (!text.empty() && text[0] >= 'a' && text[0] <= 'z') text[0] = static_cast<char>(text[0] - 'a' + 'A');
  return text;
}

std::string any_of(const std::vector<std::string>& items) {
  std::string text = in_words(items);
  if (const auto at = text.rfind(" and "); items.size() > 1 && at != std::string::npos)
    text.replace(at, 5, " or ");
  return text;
}

std::string day_text(DayOfYear day) {
  constexpr const char* months[] = {"January", "February", "March",     "April",   "May",      "June",
                                    "July",    "August",   "September", "October", "November", "December"};
  return fmt::format("{} {}", day.day, months[day.month - 1]);
}

/// "percent moisture", "m elevation", "heat index", "moisture" where there is no unit.
std::string measured(const std::string& layer, const std::string& unit) {
  const std::string words = layer_words(layer);
  if (unit.empty()) return words;
  return unit == "index" ? words + " index" : unit + ' ' + words;
}

std::string sentence(const Trapezoid& t, const std::string& measure) {
  std::vector<std::string> nothing;
  // Where a = b the response jumps: the corner itself still counts in full.
  if (std::isfinite(t.a)) nothing.push_back((t.a == t.b ? "below " : "at or below ") + shortest(t.a));
  if (std::isfinite(t.d)) nothing.push_back((t.c == t.d ? "above " : "at or above ") + shortest(t.d));
  std::string full;
  if (std::isfinite(t.b) && std::isfinite(t.c)) {
    full = t.b == t.c ? fmt::format("at {}", shortest(t.b))
                      : fmt::format("from {} to {}", shortest(t.b), shortest(t.c));
  } else if (std::isfinite(t.c)) {
    full = "up to " + shortest(t.c);
  } else if (std::isfinite(t.b)) {
    full = "from " + shortest(t.b);
  } else {
    return fmt::format("Full marks at any {}.", measure);
  }
  const char* upward = std::isfinite(t.c) ? "" : " up";
  return fmt::format("Full marks {} {}{}, nothing {}.", full, measure, upward, any_of(nothing));
}

std::string sentence(const Polyline& line, const std::string& measure) {
  std::vector<std::string> points;
  for (const auto& [value, response] : line.points) {
    points.push_back(fmt::format("{} at {}", shortest(response), shortest(value)));
  }
  return fmt::format("{} counts {}, in straight lines between, level beyond.", capital(measure),
                     in_words(points));
}

std::string sentence(const ClassTable& table, const std::string& layer) {
  std::vector<std::pair<double, std::string>> ranked;
  for (const auto& [code, score] : table.scores) ranked.emplace_back(score, code);
  std::stable_sort(ranked.begin(), ranked.end(),
                   [](const auto& a, const auto& b) { return a.first > b.first; });
  std::vector<std::string> full, between, nothing;
  for (const auto& [score, code] : ranked) {
    if (score == 1) {
      full.push_back(code);
    } else if (score == 0) {
      nothing.push_back(code);
    } else {
      between.push_back(fmt::format("{} {}", code, shortest(score)));
    }
  }
  std::vector<std::string> parts;
  if (!full.empty()) parts.push_back(fmt::format("full marks on {} {}", layer, in_words(full)));
  if (!between.empty()) parts.push_back((full.empty() ? layer + " counts " : "") + in_words(between));
  if (!nothing.empty()) parts.push_back("nothing on " + any_of(nothing));
  if (table.otherwise) {
    const std::string what = *table.otherwise == 0 ? "nothing" : shortest(*table.otherwise);
    parts.push_back(fmt::format("{} on any other {} class", what, layer));
  }
  if (!table.excluded.empty()) {
    parts.push_back("never on " + any_of({table.excluded.begin(), table.excluded.end()}));
  }
  std::string text;
  for (const std::string& part : parts) text += (text.empty() ? "" : "; ") + part;
  return capital(text) + '.';
}

std::string sentence(const Factor& factor, const Plan& plan) {
  const std::string measure = measured(factor.layer, unit_of(plan, factor.layer));
  if (const auto* trapezoid = std::get_if<Trapezoid>(&factor.response)) return sentence(*trapezoid, measure);
  if (const auto* line = std::get_if<Polyline>(&factor.response)) return sentence(*line, measure);
  return sentence(std::get<ClassTable>(factor.response), layer_words(factor.layer));
}

/// The factors and groups standing directly in one group, by role.
struct Parts {
  std::vector<std::string> limiting, modifying, modifying_weighted, all, all_weighted;
  bool weighted_modifying = false, weighted_all = false;

  void add(const std::string& name, Role role, double weight) {
    const std::string weighed = weight == 1 ? name : fmt::format("{} (weight {})", name, shortest(weight));
    all.push_back(name);
    all_weighted.push_back(weighed);
    weighted_all = weighted_all || weight != 1;
    if (role == Role::limiting) {
      limiting.push_back(name);
    } else {
      modifying.push_back(name);
      modifying_weighted.push_back(weighed);
      weighted_modifying = weighted_modifying || weight != 1;
    }
  }
};

Parts parts_of(const Sheet& sheet, const std::string& group) {
  Parts parts;
  for (const Factor& factor : sheet.factors) {
    if (factor.group == group) parts.add(layer_words(factor.layer), factor.role, factor.weight);
  }
  for (const Group& other : sheet.groups) {
    if (other.within == group) parts.add("group " + other.name, other.role, other.weight);
  }
  return parts;
}

std::string lowest_of(const std::vector<std::string>& items) {
  return items.size() == 1 ? items[0] : "the lowest of " + in_words(items);
}

std::string mean_of(const char* kind, const std::vector<std::string>& items, bool weighted) {
  if (items.size() == 1) return items[0].substr(0, items[0].find(" (weight"));
  return fmt::format("the {}{} mean of {}", weighted ? "weighted " : "", kind, in_words(items));
}

std::string combination(const Sheet& sheet, const Combine& combine, const std::string& group) {
  const Parts parts = parts_of(sheet, group);
  const std::string subject = group.empty() ? "The score" : "Group " + group;
  std::string text;
  switch (combine.rule) {
    case Rule::lowest:
      text = fmt::format("{} is {}.", subject, lowest_of(parts.all));
      break;
    case Rule::geometric:
      text = fmt::format("{} is {}.", subject, mean_of("geometric", parts.all_weighted, parts.weighted_all));
      break;
    case Rule::arithmetic:
      text = fmt::format("{} is {}, which lets a zero be bought off.", subject,
                         mean_of("arithmetic", parts.all_weighted, parts.weighted_all));
      break;
    case Rule::graded:
      if (parts.modifying.empty()) {
        text = fmt::format("{} is {}.", subject, lowest_of(parts.limiting));
      } else {
        // 1 - 0.6 in binary is not the 0.4 a person expects to read.
        const double rest = std::round((1 - combine.limiting_power) * 1e9) / 1e9;
        text = fmt::format("{} is {} to the power {}, times {} to the power {}.", subject,
                           lowest_of(parts.limiting), shortest(combine.limiting_power),
                           mean_of("geometric", parts.modifying_weighted, parts.weighted_modifying),
                           shortest(rest));
      }
      break;
  }
  if (combine.floor && !parts.modifying.empty()) {
    text += fmt::format(" {} never {} for less than {}.", capital(in_words(parts.modifying)),
                        parts.modifying.size() == 1 ? "counts" : "count", shortest(*combine.floor));
  }
  return text;
}

std::string mask_sentence(const Mask& mask, const Plan& plan) {
  const std::string unit = unit_of(plan, mask.layer);
  std::vector<std::string> kept;
  if (mask.keep_above) kept.push_back("above " + with_unit(*mask.keep_above, unit));
  if (mask.keep_below) kept.push_back("below " + with_unit(*mask.keep_below, unit));
  return fmt::format("Only where {} is {}; elsewhere excluded.", layer_words(mask.layer), in_words(kept));
}

std::string sources_text(const std::vector<SourceSpec>& sources) {
  std::vector<std::string> names;
  for (const SourceSpec& source : sources) names.push_back(source.file.filename().string());
  return in_words(names);
}

std::string layers_text(const Plan& plan) {
  std::vector<std::string> layers;
  for (const LayerSpec& layer : plan.layers) {
    std::string what = layer.is_classes() ? fmt::format("{} classes", layer.classes.size())
                                          : (layer.unit.empty() ? "no unit given" : layer.unit);
    if (layer.scale != 1) what += fmt::format(", times {}", shortest(layer.scale));
    layers.push_back(fmt::format("{} ({})", layer_words(layer.name), what));
  }
  return layers.empty() ? "No layers." : fmt::format("Layers: {}.", in_words(layers));
}

std::string strata_text(const StrataSpec& strata) {
  std::vector<std::string> by;
  bool score = false;
  for (const std::string& item : strata.by) {
    score = score || item == "score";
    by.push_back(item == "score" && strata.score_of == "best"   ? "score of the best species"
                 : item == "score" && strata.score_of == "mean" ? "mean score of the species"
                 : item == "score"                              ? "score of " + strata.score_of
                                                                : layer_words(item));
  }
  std::string text = fmt::format("Strata by {}", in_words(by));
  if (score) {
    std::vector<std::string> bands;
    for (std::string band : band_keys(strata.bands)) {
      bands.push_back(band.replace(band.find('-'), 1, "–"));
    }
    text += fmt::format(", in bands {}", in_words(bands));
  }
  return text + fmt::format("; a stratum under {} m² joins a neighbour.", shortest(strata.smallest_m2));
}

std::string edge_words(const SampleSpec& sample) {
  switch (sample.edge) {
    case EdgeRule::walk_through:
      return "the walk-through rule";
    case EdgeRule::grown_frame:
      return "drawing pins outside too, up to the plot's reach";
    case EdgeRule::fold_back:
      return "folding belts back";
    case EdgeRule::inside_area:
      return "counting the area inside";
    case EdgeRule::inner_margin:
      break;
  }
  return fmt::format("keeping pins {} m from them", shortest(sample.margin_m));
}

std::string number_text(const SampleSpec& sample) {
  constexpr const char* shared[] = {"in equal parts", "by area", "by area times spread"};
  std::string how = sample.allocation == Allocation::optimal && !sample.species_spread.empty()
                        ? "as a compromise over species"
                        : shared[static_cast<int>(sample.allocation)];
  if (sample.allocation == Allocation::optimal && !sample.cost.empty()) {
    how += sample.species_spread.empty() ? " over the root of cost" : " and cost";
  }
  if (sample.each) return fmt::format("{} in every stratum", grouped(*sample.each));
  if (sample.budget_minutes) {
    return fmt::format("as many as {} minutes pay for, shared {}, at least {} in a stratum",
                       shortest(*sample.budget_minutes), how, sample.least_per_stratum);
  }
  if (!sample.total && sample.total_from == TotalFrom::number) return "a number still to be given";
  const std::string all = sample.total                                ? grouped(*sample.total) + " in all"
                          : sample.total_from == TotalFrom::precision ? "as many as the limits asked need"
                                                                      : "as many as the hours pay for";
  return fmt::format("{}, shared {}, at least {} in a stratum", all, how, sample.least_per_stratum);
}

std::string baseline_text(const TransectSpec& transect) {
  switch (transect.baseline) {
    case TransectSpec::Baseline::contour:
      return "the contours";
    case TransectSpec::Baseline::longest_axis:
      return "the site's longest axis";
    case TransectSpec::Baseline::bearing:
      break;
  }
  return fmt::format("a baseline of {} degrees true", shortest(transect.baseline_deg));
}

std::string transects_text(const SampleSpec& sample, const TransectSpec& transect) {
  std::string counted = fmt::format("{} m wide, counted whole", shortest(transect.width_m));
  if (transect.frames)
    counted = fmt::format("frames of {} × {} m every {} m from a random start",
                          shortest(transect.frames->size_m[0]), shortest(transect.frames->size_m[1]),
                          shortest(transect.frames->step_m));
  std::string laid = "from random points, bearing at random";
  if (transect.lay == TransectSpec::Lay::baseline)
    laid = fmt::format("across {}, spread along it with a random start", baseline_text(transect));
  else if (transect.bearing_deg)
    laid = fmt::format("from random points, bearing {} degrees true", shortest(*transect.bearing_deg));
  return fmt::format(
      "Transects: {} m long, {}; {}; {} spare for each planned one; laid {}; where a line leaves the survey "
      "area, {}.",
      shortest(transect.length_m), counted, number_text(sample), shortest(sample.spares), laid,
      transect.boundary == TransectSpec::Boundary::clip ? "what is inside is counted"
                                                        : "it is folded back on itself");
}

std::string plots_text(const SampleSpec& sample) {
  std::string unit;
  switch (sample.shape) {
    case UnitShape::circle:
      unit = fmt::format("circles of {} m radius", shortest(sample.size_m[0]));
      break;
    case UnitShape::square:
      unit = fmt::format("squares of {} m", shortest(sample.size_m[0]));
      break;
    case UnitShape::belt:
      unit = fmt::format("belts {} m wide and {} m long", shortest(sample.size_m[0]),
                         shortest(sample.size_m[1]));
      break;
  }
  std::string text = fmt::format("Plots: {}, {}; {} spare plots for each planned one", unit,
                                 number_text(sample), shortest(sample.spares));
  if (sample.weight.given()) {
    text += fmt::format("; chances in proportion to {}", sample.weight.of);
    if (sample.weight.floor > 0) text += fmt::format(", at least {}", shortest(sample.weight.floor));
  }
  text += sample.bearing_deg ? fmt::format("; bearing {} degrees true", shortest(*sample.bearing_deg))
                             : "; bearing at random";
  if (sample.apart_m > 0) {
    text += fmt::format("; at least {} m apart{}", shortest(sample.apart_m),
                        sample.refuse_when_apart_binds ? ", or refused" : "");
  }
  text += "; edges by " + edge_words(sample);
  if (sample.plots_in_excluded) text += "; plots in ground the rules exclude as well";
  return text + '.';
}

std::string effort_text(const EffortSpec& effort) {
  if (!effort.given) return {};
  const auto percents = [](double share) { return shortest(std::round(share * 1e4) / 100); };
  std::vector<std::string> questions;
  if (effort.precision)
    questions.push_back(fmt::format("limits of ±{} percent", percents(*effort.precision)));
  if (effort.change)
    questions.push_back(fmt::format("a change of {} percent on {} plots", percents(*effort.change),
                                    effort.same_plots ? "the same" : "separate"));
  if (effort.occupied_within)
    questions.push_back(
        fmt::format("the share of plots occupied within {} points", percents(*effort.occupied_within)));
  if (effort.occupied_change)
    questions.push_back(
        fmt::format("a change of that share by {} points", percents(*effort.occupied_change)));
  if (effort.find_one)
    questions.push_back(fmt::format("one find with {} percent certainty", percents(*effort.find_one)));
  std::string text = fmt::format("Must be answered: {}", in_words(questions));
  if (!effort.species.empty()) text += " for " + in_words(effort.species);
  if (effort.hours) text += fmt::format("; {} person-hours", shortest(*effort.hours));
  return text + ".\n";
}

std::string measure_text(const LineMeasure& measure) {
  std::array<std::string, 2> sides;
  for (std::size_t side = 0; side < 2; ++side) {
    sides[side] = measure.attributes[side].empty() ? shortest(measure.metres[side]) + " m"
                                                   : "as '" + measure.attributes[side] + "' says";
  }
  return sides[0] == sides[1] ? sides[0] : fmt::format("{} (left) and {} (right)", sides[0], sides[1]);
}

std::string lines_text(const LinearSpec& linear) {
  if (linear.sources.empty()) return {};
  constexpr const char* sides[] = {"both sides", "the left side", "the right side"};
  return fmt::format(
      "Linear sites from {}: segments of {} m on {}; width {}, from the line {}; {} segments in each.\n",
      sources_text(linear.sources), shortest(linear.segment_m), sides[static_cast<int>(linear.sides)],
      measure_text(linear.width), measure_text(linear.offset),
      linear.each ? grouped(*linear.each) : "as many");
}

}  // namespace

std::string in_sentences(const Sheet& sheet, const Plan& plan) {
  std::vector<std::string> said;
  std::string head = fmt::format("{}, {}", sheet.code, sheet.name);
  if (!sheet.common.empty()) head += ", " + sheet.common;
  said.push_back(fmt::format("{}, version {}.", head, sheet.version));
  if (sheet.window) {
    said.push_back(
        fmt::format("Visits from {} to {}.", day_text(sheet.window->first), day_text(sheet.window->second)));
  }
  if (sheet.factors.empty()) {
    said.push_back("Monitored, not scored.");
  } else {
    for (const Factor& factor : sheet.factors) said.push_back(sentence(factor, plan));
    for (const Mask& mask : sheet.masks) said.push_back(mask_sentence(mask, plan));
    for (const Group& group : sheet.groups) said.push_back(combination(sheet, group.combine, group.name));
    said.push_back(combination(sheet, sheet.combine, ""));
  }
  std::string text;
  for (const std::string& each : said) text += (text.empty() ? "" : " ") + each;
  return text;
}

std::string in_sentences(const Plan& plan) {
  std::string text = fmt::format("{}. Seed {}, coordinates in {}.\n", plan.name, plan.seed, plan.crs);
  text += fmt::format("{}odes in '{}', names in '{}'",
                      plan.sites.sources.empty()
                          ? "No site polygons; c"
                          : fmt::format("Sites from {}, c", sources_text(plan.sites.sources)),
                      plan.sites.code, plan.sites.name);
  if (!plan.sites.only.empty()) text += fmt::format("; only {}", in_words(plan.sites.only));
  if (!plan.sites.private_attributes.empty()) {
    text += fmt::format("; {} kept out of every file", in_words(plan.sites.private_attributes));
  }
  text += ".\n" + lines_text(plan.sites.linear);
  for (const ExclusionSpec& exclusion : plan.sites.exclusions) {
    text += fmt::format("Excluded{}: {} ({}", exclusion.verges_only ? " from linear sites" : "",
                        exclusion.reason, exclusion.source.file.filename().string());
    if (exclusion.buffer_m > 0) text += fmt::format(" and {} m around", shortest(exclusion.buffer_m));
    text += ").\n";
  }
  text += layers_text(plan) + '\n' + strata_text(plan.strata) + '\n' +
          (plan.sample.unit == SampleUnit::plot ? plots_text(plan.sample)
                                                : transects_text(plan.sample, plan.transect)) +
          '\n';
  if (!plan.blocks.chosen.empty())
    text += fmt::format("Plots of their sites only in the chosen blocks {} (squares of {} m).\n",
                        in_words(plan.blocks.chosen), shortest(plan.blocks.side_m));
  const std::string profile = plan.points.name_profile == "free"
                                  ? "names as they are"
                                  : fmt::format("names of at most {} characters", plan.points.name_profile);
  text += effort_text(plan.effort) + sentences_of_visits(plan);
  return text + fmt::format("Points as {}, {}.\n", in_words(plan.points.formats), profile);
}

}  // namespace swardline
