// The edge rules of the draw: where pins may fall, what an estimate must do with the counts, and what each
// rule loses, said before anything is drawn.
//
// With y counts once, y2 counts a second time, over the n evaluated plots of a stratum; a the plot's area, A
// the stratum's survey area (strata.area_m2) and F the ground its pins fell on (strata.frame_m2):
//
//   walk-through   density = Σ(y + y2) / Σ(inside_m2 + twice_m2), total = density · A. F = A. Every plant has
//                  the chance n·a/A, except those from which two opposite places of a pin can both lie
//                  outside: in corners, and in strips narrower than the plot (Ducey, Gove & Valentine 2004).
//   fold-back      the same formula. Exact along the belt (Gregoire & Monkevich 1994); plants at an edge
//                  beside a belt have less than their chance.
//   grown-frame    total = Σ y · F / (n · a), density = total / A: the full plot area a counts, also of plots
//                  that stick out or lie wholly outside (y = 0). Every plant has the chance n·a/F. F is the
//                  stratum's survey area with the ground outside, up to the plot's reach from the survey
//                  area, whose nearest survey ground is in the stratum. Add strata up over a site before
//                  dividing by its area: a plot in one stratum may count plants of another.
//   inside-area    density = Σ y / Σ inside_m2, total = density · A. F = A. Plants at an edge have less than
//                  their chance, half of it at a straight edge: too low where plants love edges, and more
//                  plots do not help.
//   inner-margin   density = Σ y / Σ inside_m2: of the ground inside the margin; total = density · F. Nothing
//                  is known of the rest.
#pragma once

#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/design/site.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

[[nodiscard]] const char* word(EdgeRule rule);  ///< as the plan writes it: "walk-through"

/// How an estimate uses the counts, in one line; `weighted` where chances differ within a stratum.
[[nodiscard]] std::string estimator(EdgeRule rule, bool weighted);

/// Whether pins fall on other ground than the survey area itself.
[[nodiscard]] bool pins_have_own_ground(const SampleSpec& sample);

/// The ground on which pins may fall: the survey area, grown by the plot's reach (by up to 0.1 % and 2 mm
/// more, so that no chance is lost to rounding), or without the margin (so that no pin is nearer). Whole
/// millimetres.
[[nodiscard]] Geometry ground_for_pins(const SampleSpec& sample, const Geometry& survey);

/// What the rule leaves out or adds at one site. Areas in square metres.
struct EdgeLoss {
  std::string site;
  double survey_m2 = 0;
  double pins_m2 = 0;      ///< ground on which pins may fall
  double never_m2 = 0;     ///< survey ground that no plot can reach
  double lessened_m2 = 0;  ///< survey ground (without the above) whose plants can have less than their chance
};
[[nodiscard]] EdgeLoss edge_loss(const SampleSpec& sample, const Site& site);

/// What the rule loses, site by site: "inner margin of 10 m: no pin falls on 31 % of CND (0.78 of 2.50 ha)
/// …". Empty for rules that lose nothing.
[[nodiscard]] std::vector<std::string> edge_losses(const SampleSpec& sample, const Sites& sites);

/// Findings on the edge rule: ASK with what `inside-area` and `inner-margin` lose, STOP where a margin leaves
/// nothing of a site, NOTE on pins outside and on what `fold-back` leaves.
void check_edges(const Plan& plan, const Sites& sites, Flags& flags);

}  // namespace swardline
