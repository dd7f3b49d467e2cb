// What a reader of the certificate needs to know besides the strata: units, sites, merges, methods.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/design/season_parts.hpp"

namespace swardline::season_parts {
namespace {

std::string unit_words(const SampleSpec& sample) {
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

std::vector<SiteCertificate> sites_of(const Sites& sites, const std::vector<Plot>& plots) {
  std::vector<SiteCertificate> all;
  std::map<std::string, std::size_t> place;
  for (const Site& site : sites.sites) {
    place.emplace(site.code, all.size());
    all.push_back({site.code, site.name, site.survey_m2, 0, 0});
  }
  for (const Plot& plot : plots) {
    if (!plot.due()) continue;
    SiteCertificate& site = all[place.at(plot.site)];
    ++(plot.spare ? site.spares : site.planned);
  }
  return all;
}

bool any_drawn_by(const Certificate& certificate, DrawMethod method) {
  return std::any_of(certificate.strata.begin(), certificate.strata.end(), [&](const auto& c) {
    return c.draw.method == method && c.stratum.planned + c.stratum.spares > 0;
  });
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
  if (plan.panels.given)
    methods.emplace_back(
        "Panels: revisit patterns, McDonald 2003; a panel is a run of ranks of the draw order.");
  methods.emplace_back("Balance: variance of Voronoi totals, Stevens and Olsen 2004.");
  methods.emplace_back(
      "Weights: one over the chance of selection, Horvitz and Thompson 1952; within a stratum every square "
      "metre has the same chance, Cochran 1977, chapter 5.");
  if (plan.sample.total && plan.sample.allocation == Allocation::optimal)
    methods.emplace_back("Allocation to area times spread: Neyman 1934.");
  if (plan.sample.edge == EdgeRule::walk_through)
    methods.emplace_back("Plots at an edge: walk-through, Ducey, Gove and Valentine 2004.");
  return methods;
}

}  // namespace

void describe(const Plan& plan, const Sites& sites, SeasonDraw& draw) {
  Certificate& certificate = draw.certificate;
  certificate.season = plan.name;
  certificate.unit = unit_words(plan.sample);
  certificate.unit_area_m2 = plan.sample.unit_area_m2();
  certificate.apart_m = plan.sample.apart_m;
  certificate.sites = sites_of(sites, draw.plots);
  for (const Stratum& stratum : draw.strata) {
    if (stratum.joined.empty()) continue;
    certificate.merged.push_back(fmt::format("{}: {} joined it, being under {} m².", spoken(stratum.id),
                                             stratum.joined, shortest(plan.strata.smallest_m2)));
  }
  certificate.methods = methods_of(plan, certificate);
}

}  // namespace swardline::season_parts
