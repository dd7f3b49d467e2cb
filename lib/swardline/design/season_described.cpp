// What a reader of the certificate needs to know besides the strata: units, sites, merges, methods.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/lines/transect.hpp"

namespace swardline::season_parts {
namespace {

std::string unit_words(const SampleSpec& sample, const TransectSpec& transect) {
  if (sample.unit == SampleUnit::transect) {
    const std::string length = shortest(transect.length_m);
    if (!transect.frames)
      return fmt::format("transect, belt of {} m × {} m", shortest(transect.width_m), length);
    return fmt::format("transect of {} m with {} frames of {} m × {} m", length, frame_row(transect).frames,
                       shortest(transect.frames->size_m[0]), shortest(transect.frames->size_m[1]));
  }
  const auto metres = [&](std::size_t i) { return shortest(sample.size_m[i]) + " m"; };
  switch (sample.shape) {
    case UnitShape::circle:
      return "circle, radius " + metres(0);
    case UnitShape::square:
      return "square, side " + metres(0);
    case UnitShape::belt:
      return fmt::format("belt, {} × {}", metres(0), metres(1));
  }
  return "";
}

double unit_area_m2(const Plan& plan) {
  if (plan.sample.unit == SampleUnit::plot || !plan.transect.frames) return plan.sample.unit_area_m2();
  const auto& [across, along] = plan.transect.frames->size_m;
  return frame_row(plan.transect).frames * across * along;
}

std::vector<SiteCertificate> sites_of(const Sites& sites, const SeasonDraw& draw) {
  std::vector<SiteCertificate> all;
  std::map<std::string, std::size_t> place;
  for (const Site& site : sites.sites) {
    place.emplace(site.code, all.size());
    all.push_back({site.code, site.name, site.survey_m2, 0, 0});
  }
  const auto count = [&](const Plot& plot) {
    if (!plot.due()) return;
    SiteCertificate& site = all[place.at(plot.site)];
    ++(plot.spare ? site.spares : site.planned);
  };
  for (const Plot& plot : draw.plots) count(plot);
  for (const Transect& transect : draw.transects) count(transect.unit);
  return all;
}

bool any_drawn_by(const Certificate& certificate, DrawMethod method) {
  return std::any_of(certificate.strata.begin(), certificate.strata.end(), [&](const auto& c) {
    return c.draw.method == method && c.stratum.planned + c.stratum.spares > 0;
  });
}

void add_methods_of_lines(const TransectSpec& spec, std::vector<std::string>& methods) {
  methods.emplace_back(
      "Transects: the line is the unit, whatever is counted along it, Cochran 1977, chapter 9.");
  if (spec.lay == TransectSpec::Lay::baseline)
    methods.emplace_back(
        "Along a baseline: strips of one area across it, a start at one random place of each; systematic "
        "with a "
        "random start, Cochran 1977, chapter 8.");
  methods.emplace_back(spec.boundary == TransectSpec::Boundary::reflect
                           ? "Where a line leaves: reflected on itself, Gregoire and Monkevich 1994; "
                             "Affleck, Gregoire and Valentine "
                             "2005. Lines have equal chances everywhere; a belt's outer half is a little "
                             "short beside edges that run "
                             "along it."
                           : "Where a line leaves: what is inside counts, and starts are drawn from the "
                             "survey area swept back by the "
                             "whole transect, so that edges have the chance of the middle.");
}

std::vector<std::string> methods_of(const Plan& plan, const Certificate& certificate) {
  std::vector<std::string> methods = {
      "Scores: suitability indices and their combination, US Fish and Wildlife Service 1981 (ESM 103).",
      "Random numbers: counter-based, Philox4x32-10, Salmon, Moraes, Dror and Shaw 2011."};
  if (any_drawn_by(certificate, DrawMethod::pivotal)) {
    methods.emplace_back(
        "Candidates in a randomised hierarchical order over each stratum's ground, Stevens and Olsen 2004.");
    methods.emplace_back(
        "Plots spread from them by the local pivotal method, Grafström, Lundström and Schelin 2012.");
  }
  if (any_drawn_by(certificate, DrawMethod::lattice)) {
    methods.emplace_back(
        "Where plots must lie far apart: a triangular lattice with random start and turn, Cochran 1977, "
        "chapter 8, thinned at random to the number asked.");
  }
  if (plan.sample.unit == SampleUnit::transect) add_methods_of_lines(plan.transect, methods);
  if (any_drawn_by(certificate, DrawMethod::units)) {
    methods.emplace_back(
        "Segments of a line, each with the same chance, spread by the local pivotal method, Grafström, "
        "Lundström and Schelin 2012.");
  }
  if (plan.panels.given)
    methods.emplace_back(
        "Panels: revisit patterns, McDonald 2003; a panel is a run of ranks of the draw order.");
  methods.emplace_back("Balance: variance of Voronoi totals, Stevens and Olsen 2004.");
  methods.emplace_back(
      plan.sample.weight.given()
          ? "Weights: one over the chance of selection, which is in proportion to a weight, Horvitz "
            "and Thompson 1952."
          : "Weights: one over the chance of selection, Horvitz and Thompson 1952; within a stratum "
            "every square metre has the same chance, Cochran 1977, chapter 5.");
  const bool shared = plan.sample.total || plan.sample.budget_minutes;
  if (shared && plan.sample.allocation == Allocation::optimal) {
    methods.emplace_back(
        !plan.sample.species_spread.empty() ? "Allocation plot by plot to the species farthest from its "
                                              "target: for one species the least variance, "
                                              "Wright 2012."
        : plan.sample.cost.empty()
            ? "Allocation to area times spread: Neyman 1934."
            : "Allocation to area times spread over the root of cost: Cochran 1977, chapter 5.");
  }
  if (plan.sample.unit == SampleUnit::plot && plan.sample.edge == EdgeRule::walk_through)
    methods.emplace_back("Plots at an edge: walk-through, Ducey, Gove and Valentine 2004.");
  if (plan.sample.edge == EdgeRule::fold_back) {
    methods.emplace_back(
        "Plots at an edge: belts reflected along their midline, Gregoire and Monkevich 1994; Affleck, "
        "Gregoire "
        "and Valentine 2005.");
  }
  return methods;
}

}  // namespace

void describe(const Plan& plan, const Sites& sites, SeasonDraw& draw) {
  Certificate& certificate = draw.certificate;
  certificate.season = plan.name;
  certificate.unit = unit_words(plan.sample, plan.transect);
  certificate.unit_area_m2 = unit_area_m2(plan);
  certificate.apart_m = plan.sample.apart_m;
  if (plan.sample.unit == SampleUnit::transect)
    certificate.edge.of_transects = plan.transect.boundary == TransectSpec::Boundary::clip
                                        ? "lines are clipped, what is inside counts"
                                        : "lines are folded back on themselves";
  certificate.sites = sites_of(sites, draw);
  certificate.chosen = sites.chosen;
  for (const Stratum& stratum : draw.strata) {
    if (stratum.joined.empty()) continue;
    certificate.merged.push_back(fmt::format("{}: {} joined it, being under {} m².", spoken(stratum.id),
                                             stratum.joined, shortest(plan.strata.smallest_m2)));
  }
  certificate.methods = methods_of(plan, certificate);
}

}  // namespace swardline::season_parts
