#include "swardline/design/edges.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr int segments = 64;  // per quarter turn: an arc lies within 0.008 % of its radius

/// Sites named one by one; the rest are summed up.
constexpr std::size_t most_named = 12;

std::string percent(double share) {
  if (share <= 0) return "0 %";
  return share < 0.01 ? "less than 1 %" : fmt::format("{:.0f} %", 100 * share);
}

/// "3.1 m"
std::string to_decimetres(double m) { return fmt::format("{:.4g} m", std::round(m * 10) / 10); }

/// Survey ground at least `from_edge` inside; sites are measured with it, nothing is drawn from it.
double inner_m2(const Geometry& survey, double from_edge) {
  return from_edge <= 0 ? survey.area() : buffered(survey, -from_edge, segments).area();
}

std::vector<EdgeLoss> losses_of(const SampleSpec& sample, const Sites& sites) {
  std::vector<EdgeLoss> losses;
  for (const Site& site : sites.sites) {
    if (!site.survey.empty() && site.survey_m2 > 0 && !site.verge) losses.push_back(edge_loss(sample, site));
  }
  return losses;
}

/// "31 % of CND (0.78 of 2.50 ha), …", the largest share first.
template <typename Lost>
std::string by_site(std::vector<EdgeLoss> losses, Lost lost) {
  std::stable_sort(losses.begin(), losses.end(), [&](const EdgeLoss& a, const EdgeLoss& b) {
    return lost(a) / a.survey_m2 > lost(b) / b.survey_m2;
  });
  std::vector<std::string> parts;
  double rest = 0, rest_of = 0;
  for (std::size_t i = 0; i < losses.size(); ++i) {
    const EdgeLoss& loss = losses[i];
    if (i >= most_named) {
      rest += lost(loss);
      rest_of += loss.survey_m2;
      continue;
    }
    parts.push_back(fmt::format("{} of {} ({:.2f} of {:.2f} ha)", percent(lost(loss) / loss.survey_m2),
                                loss.site, lost(loss) * 1e-4, loss.survey_m2 * 1e-4));
  }
  if (rest_of > 0) {
    parts.push_back(
        fmt::format("{} of the other {} sites", percent(rest / rest_of), losses.size() - most_named));
  }
  return in_words(parts);
}

std::string inner_margin_words(const SampleSpec& sample, const std::vector<EdgeLoss>& losses) {
  const double reach = sample.reach_m(), never = sample.margin_m - reach;
  std::string text = fmt::format("inner margin of {}: no pin falls on {}.", to_decimetres(sample.margin_m),
                                 by_site(losses, [](const EdgeLoss& l) { return l.survey_m2 - l.pins_m2; }));
  if (never > 0) {
    text += fmt::format(" Plants within {} of an edge are never counted: {}.", to_decimetres(never),
                        by_site(losses, [](const EdgeLoss& l) { return l.never_m2; }));
  }
  return text + fmt::format(
                    " Plants up to {} from an edge have less than their chance, and estimates speak of "
                    "the ground inside the margin only",
                    to_decimetres(sample.margin_m + reach));
}

std::string inside_area_words(const SampleSpec& sample, const std::vector<EdgeLoss>& losses) {
  return fmt::format(
      "inside-area gives plants within {} of an edge less than their chance, half of it at a straight edge: "
      "{}. Where plants love edges, density comes out too low, and more plots do not help",
      to_decimetres(sample.reach_m()), by_site(losses, [](const EdgeLoss& l) { return l.lessened_m2; }));
}

}  // namespace

const char* word(EdgeRule rule) {
  switch (rule) {
    case EdgeRule::walk_through:
      return "walk-through";
    case EdgeRule::grown_frame:
      return "grown-frame";
    case EdgeRule::fold_back:
      return "fold-back";
    case EdgeRule::inside_area:
      return "inside-area";
    case EdgeRule::inner_margin:
      return "inner-margin";
  }
  return "";
}

std::string estimator(EdgeRule rule, bool weighted) {
  if (rule == EdgeRule::grown_frame)
    return "total = sum(count) × frame_m2 / (plots × plot_m2), summed over the strata of a site; density = "
           "total / area_m2; plots wholly outside are plots with count 0";
  const bool both = rule == EdgeRule::walk_through || rule == EdgeRule::fold_back;
  const std::string counts = rule == EdgeRule::walk_through ? "(count + count twice)"
                             : rule == EdgeRule::fold_back  ? "(count + count again)"
                                                            : "(count)";
  const std::string areas = both ? "(inside_m2 + twice_m2)" : "(inside_m2)";
  // Horvitz and Thompson's total over their total of the area counted.
  const std::string density = weighted
                                  ? fmt::format("sum(weight_m2 × {}) / sum(weight_m2 × {})", counts, areas)
                                  : fmt::format("sum{} / sum{}", counts, areas);
  if (rule == EdgeRule::inner_margin)
    return fmt::format(
        "in each stratum, density = {}, of the ground inside the margin; total = density × "
        "frame_m2; nothing is known of the rest",
        density);
  return fmt::format("in each stratum, density = {}; total = density × area_m2{}", density,
                     rule == EdgeRule::inside_area ? "; too low where plants love edges" : "");
}

bool pins_have_own_ground(const SampleSpec& sample) {
  return sample.edge == EdgeRule::grown_frame || sample.edge == EdgeRule::inner_margin;
}

Geometry ground_for_pins(const SampleSpec& sample, const Geometry& survey) {
  if (!pins_have_own_ground(sample)) return survey;
  // Arcs are drawn inside their circle, and snapping moves a corner by up to 0.7 mm.
  const double arc = 1 / std::cos(std::numbers::pi / (4 * segments)), snapped = 0.001;
  const bool grown = sample.edge == EdgeRule::grown_frame;
  const double metres = (grown ? sample.reach_m() : sample.margin_m) * arc + snapped;
  return polygons_of(snapped_mm(polygons_of(buffered(survey, grown ? metres : -metres, segments))));
}

EdgeLoss edge_loss(const SampleSpec& sample, const Site& site) {
  EdgeLoss loss;
  loss.site = site.code;
  loss.survey_m2 = site.survey_m2;
  loss.pins_m2 = pins_have_own_ground(sample) ? ground_for_pins(sample, site.survey).area() : site.survey_m2;
  const double reach = sample.reach_m();
  if (sample.edge == EdgeRule::inner_margin) {
    const double reached = inner_m2(site.survey, sample.margin_m - reach);
    loss.never_m2 = site.survey_m2 - reached;
    loss.lessened_m2 = reached - inner_m2(site.survey, sample.margin_m + reach);
  } else if (sample.edge == EdgeRule::inside_area) {
    loss.lessened_m2 = site.survey_m2 - inner_m2(site.survey, reach);
  } else if (sample.edge == EdgeRule::fold_back) {
    // A belt beside an edge is cut along its side: half a width from it at most.
    loss.lessened_m2 = site.survey_m2 - inner_m2(site.survey, sample.size_m[0] / 2);
  }
  return loss;
}

std::vector<std::string> edge_losses(const SampleSpec& sample, const Sites& sites) {
  const bool inner = sample.edge == EdgeRule::inner_margin;
  if (!inner && sample.edge != EdgeRule::inside_area) return {};
  const std::vector<EdgeLoss> losses = losses_of(sample, sites);
  if (losses.empty()) return {};
  return {(inner ? inner_margin_words(sample, losses) : inside_area_words(sample, losses)) + "."};
}

void check_edges(const Plan& plan, const Sites& sites, Flags& flags) {
  const SampleSpec& sample = plan.sample;
  if (sample.edge == EdgeRule::walk_through) return;
  for (const std::string& line : edge_losses(sample, sites)) {
    flags.add(Severity::ask, "edge rule loses plants", sample.place, line,
              "edge = \"walk-through\" loses none.");
  }
  const std::vector<EdgeLoss> losses = losses_of(sample, sites);
  if (losses.empty()) return;
  if (sample.edge == EdgeRule::inner_margin) {
    for (const EdgeLoss& loss : losses) {
      if (loss.pins_m2 > 0) continue;
      flags.add(Severity::stop, "margin leaves nothing", sample.place,
                fmt::format("{} lies wholly within {} of its edges, so no pin can fall there.", loss.site,
                            to_decimetres(sample.margin_m)),
                "Make margin_m smaller, or take the site off the list.");
    }
  } else if (sample.edge == EdgeRule::grown_frame) {
    std::vector<EdgeLoss> outside = losses;
    for (EdgeLoss& loss : outside) std::swap(loss.survey_m2, loss.pins_m2);
    flags.add(
        Severity::note, "pins outside the survey area", sample.place,
        fmt::format(
            "grown-frame draws pins up to {} outside the survey area. Of their ground lies outside: {}.",
            to_decimetres(sample.reach_m()),
            by_site(outside, [](const EdgeLoss& l) { return l.survey_m2 - l.pins_m2; })),
        "Plots may have to be laid from inside: ask landowners before anyone stands outside.");
  } else if (sample.edge == EdgeRule::fold_back) {
    flags.add(Severity::note, "edges beside belts", sample.place,
              fmt::format("fold-back makes good what is lost past a belt's ends. Plants within {} of an edge "
                          "that runs beside a belt have less than their chance: {}.",
                          to_decimetres(sample.size_m[0] / 2),
                          by_site(losses, [](const EdgeLoss& l) { return l.lessened_m2; })),
              "edge = \"walk-through\" has no such loss.");
  }
}

}  // namespace swardline
