// Parts of the design page that are mostly numbers.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/design/edges.hpp"
#include "swardline/report/bar_chart.hpp"
#include "swardline/report/design_sections.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"

namespace swardline {
namespace {

const std::string none = "–";

std::string whole(int number) { return grouped(number); }

bool asked(const StratumCertificate& c) { return c.stratum.planned + c.stratum.spares > 0; }

/// Ground and plots by what `name_of` says of their stratum, in the strata's order.
template <class NameOf>
std::vector<Bar> bars_by(const Certificate& certificate, NameOf&& name_of) {
  double ground = 0, plots = 0;
  std::vector<Bar> bars;
  std::map<std::string, std::size_t> place;
  for (const StratumCertificate& c : certificate.strata) {
    const std::string name = name_of(c.stratum);
    const auto [at, is_new] = place.emplace(name, bars.size());
    if (is_new) bars.push_back({name, 0, 0});
    bars[at->second].first += c.stratum.area_m2();
    bars[at->second].second += c.stratum.drawn;
    ground += c.stratum.area_m2();
    plots += c.stratum.drawn;
  }
  for (Bar& bar : bars) {
    bar.first = ground > 0 ? 100 * bar.first / ground : 0;
    bar.second = plots > 0 ? 100 * bar.second / plots : 0;
  }
  return bars;
}

/// By stratum where they are few, else by site, else by what the strata are made of.
std::vector<Bar> shares(const Certificate& certificate) {
  constexpr std::size_t readable = 24;
  std::vector<Bar> bars = bars_by(certificate, [](const Stratum& s) { return s.id; });
  if (bars.size() > readable) bars = bars_by(certificate, [](const Stratum& s) { return s.site; });
  if (bars.size() > readable) bars = bars_by(certificate, [](const Stratum& s) { return s.rule; });
  if (bars.size() > readable) bars.clear();
  return bars;
}

const char* method_words(const StratumCertificate& c) {
  if (!asked(c)) return "no plots asked";
  switch (c.draw.method) {
    case DrawMethod::pivotal:
      return "local pivotal";
    case DrawMethod::lattice:
      return "lattice";
    case DrawMethod::refused:
      return "refused";
    case DrawMethod::baseline:
      return "along a baseline";
    case DrawMethod::independent:
      return "independent starts";
    case DrawMethod::units:
      return "local pivotal, segments";
    case DrawMethod::kept:
      return "kept";
  }
  return "";
}

std::vector<std::string> spread_row(const StratumCertificate& c) {
  const StratumDraw& draw = c.draw;
  return {c.stratum.id,
          method_words(c),
          std::isfinite(draw.balance) ? fmt::format("{:.3f}", draw.balance) : none,
          std::isfinite(draw.balance_of_random) ? fmt::format("{:.3f}", draw.balance_of_random) : none,
          draw.balance_of_random > 0 ? fmt::format("{:.2f}", draw.balance / draw.balance_of_random) : none,
          c.stratum.drawn > 1 && std::isfinite(draw.nearest_pair_m)
              ? fmt::format("{:.1f}", draw.nearest_pair_m)
              : none,
          whole(draw.replaced_for_closeness),
          draw.largest_departure ? fmt::format("{} ± {}", percent_text(*draw.largest_departure),
                                               percent_text(draw.largest_departure_error))
                                 : none,
          draw.method == DrawMethod::lattice ? whole(draw.lattice_points) : none};
}

std::vector<std::string> pairs_row(const std::string& what, const ClosePairs& pairs, const char* unit) {
  return {what, whole(pairs.planned), whole(pairs.with_spares),
          pairs.any()
              ? fmt::format("{} and {}, {:.1f} {}", pairs.names[0], pairs.names[1], pairs.extreme, unit)
              : none};
}

}  // namespace

std::string drawn_part(const DesignFacts& facts) {
  const Certificate& c = facts.certificate;
  HtmlTable table;
  table.caption = "Sites";
  table.columns = {
      {"Site", false}, {"Name", false}, {"Survey area, m²", true}, {"Plots", true}, {"Spares", true}};
  double area = 0;
  int planned = 0, spares = 0;
  for (const SiteCertificate& site : c.sites) {
    table.rows.push_back(
        {site.code, site.name, grouped_decimals(site.survey_m2, 2), whole(site.planned), whole(site.spares)});
    area += site.survey_m2;
    planned += site.planned;
    spares += site.spares;
  }
  table.sums = {"All", "", grouped_decimals(area, 2), whole(planned), whole(spares)};
  std::vector<Term> terms = {{"Season", c.season},
                             {"Seed", std::to_string(c.seed)},
                             {"Inputs", c.inputs + ", the fingerprint of " + what_inputs_are},
                             {"Unit", fmt::format("{}: {} m²", c.unit, grouped_decimals(c.unit_area_m2, 2))}};
  if (c.apart_m > 0)
    terms.push_back(
        {"Apart", fmt::format("{} m at least between plots of one stratum", shortest(c.apart_m))});
  return html_terms(terms) + html_table(table);
}

std::string allocation_part(const DesignFacts& facts) {
  const std::vector<Bar> bars = shares(facts.certificate);
  std::string out = html_list(facts.certificate.allocation);
  if (bars.empty()) return out;
  out += "<figure>\n";
  out += svg_bar_chart(
      {"shares", "Percent of the survey area and percent of the planned plots, as the tables give them",
       "percent of the ground", "percent of the planned plots", bars});
  return out +
         "<figcaption>A second bar longer than the first: more plots there than its share of the ground."
         "</figcaption>\n</figure>\n";
}

std::string expected_part(const DesignFacts& facts) {
  if (facts.certificate.expected.empty()) return {};
  HtmlTable table;
  table.caption = "Relative standard errors";
  table.columns = {{"Species", false}, {"Wanted", true}, {"Expected", true}};
  for (const ExpectedError& error : facts.certificate.expected)
    table.rows.push_back(
        {error.species, percent_text(error.target), error.expected ? percent_text(*error.expected) : none});
  return html_paragraph(
             "Of the mean over the survey area, from the spreads in the plan and the plots given, before "
             "anyone has counted. A dash: ground where the species is expected has no plot.") +
         html_table(table);
}

std::string strata_part(const DesignFacts& facts) {
  HtmlTable table;
  table.caption = "Strata";
  table.columns = {{"Stratum", false},     {"Its ground", false},   {"Area, m²", true},
                   {"Plots asked", true},  {"Plots drawn", true},   {"Spares asked", true},
                   {"Spares drawn", true}, {"Chance per m²", true}, {"Weight of a plot, m²", true}};
  // Pins fall on other ground than the survey area where the edge rule says so.
  const auto& strata = facts.certificate.strata;
  const bool of_lines = !facts.certificate.edge.of_transects.empty();
  const bool own_ground =
      of_lines || std::any_of(strata.begin(), strata.end(), [](const StratumCertificate& c) {
        return c.stratum.frame_mm2 != c.stratum.area_mm2;
      });
  const bool weighted = facts.certificate.weighted();
  if (own_ground)
    table.columns.insert(table.columns.begin() + 3,
                         {of_lines ? "Ground for starts, m²" : "Ground for pins, m²", true});
  if (weighted) table.columns.push_back({"Sum of weight × m²", true});
  const bool kept = std::any_of(strata.begin(), strata.end(),
                                [](const StratumCertificate& c) { return c.stratum.kept > 0; });
  std::int64_t area = 0, pins = 0;
  int planned = 0, drawn = 0, spares = 0, spares_drawn = 0;
  for (const StratumCertificate& c : facts.certificate.strata) {
    const Stratum& s = c.stratum;
    const bool line = s.kind == StratumKind::line;  // its chances are in a table of their own
    const bool any = s.drawn > 0 && s.frame_mm2 > 0 && !line;
    table.rows.push_back({s.id, s.rule, square_metres(s.area_mm2), whole(s.planned), whole(s.drawn),
                          whole(s.spares), whole(s.spares_drawn),
                          s.kept > 0 ? "as stored"
                          : any      ? six_figures(double(s.drawn) / c.drawn_from_m2())
                          : line     ? none
                                     : "0",
                          any && s.weighted_mm2 == 0 && s.kept == 0
                              ? grouped_decimals(c.drawn_from_m2() / double(s.drawn), 2)
                              : none});
    if (own_ground)
      table.rows.back().insert(table.rows.back().begin() + 3, of_lines
                                                                  ? grouped_decimals(c.drawn_from_m2(), 2)
                                                                  : square_metres(s.frame_mm2));
    if (weighted)
      table.rows.back().push_back(s.weighted_mm2 > 0 ? grouped_decimals(s.weight_sum_m2(), 2) : none);
    area += s.area_mm2;
    pins += s.frame_mm2;
    planned += s.planned;
    drawn += s.drawn;
    spares += s.spares;
    spares_drawn += s.spares_drawn;
  }
  table.sums = {
      "All", "", square_metres(area), whole(planned), whole(drawn), whole(spares), whole(spares_drawn),
      "",    ""};
  if (own_ground) table.sums.insert(table.sums.begin() + 3, of_lines ? "" : square_metres(pins));
  if (weighted) table.sums.emplace_back("");
  if (of_lines)
    return html_paragraph(
               "Every square metre of the ground for starts has the same chance of holding the start of a "
               "line: planned lines over that ground. It is wider than the survey area where lines begin "
               "outside and the tape begins where they come in. Areas are on the plan's plane.") +
           html_table(table);
  return html_paragraph(
             weighted
                 ? "Where a sum of weights stands, a square metre's chance of holding a pin is planned plots "
                   "× its weight over that sum, and the chance given is the mean; elsewhere every square "
                   "metre of a stratum has the same chance, planned plots over area. The store holds the "
                   "chance of every plot. Areas are on the plan's plane."
                 : "Every square metre of a stratum has the same chance of holding a pin: planned plots over "
                   "area" +
                       std::string(own_ground ? " of the ground for pins. " : ". ") +
                       "A plot's weight is the ground it stands for. Areas are on the plan's plane.") +
         (kept ? html_paragraph(
                     "Where plots of earlier seasons are kept, each has the chance it was drawn with: "
                     "column chance_per_m2 of the store's table plots.")
               : "") +
         html_table(table);
}

std::string edge_part(const DesignFacts& facts) {
  const EdgeCertificate& edge = facts.certificate.edge;
  std::string out = html_paragraph(
      fmt::format("Rule: {}. Estimates: {}.", edge.of_transects.empty() ? word(edge.rule) : edge.of_transects,
                  estimator(edge.rule, facts.certificate.weighted())));
  return edge.losses.empty() ? out : out + html_list(edge.losses);
}

std::string spread_part(const DesignFacts& facts) {
  HtmlTable table;
  table.caption = "Spread of the planned plots";
  table.columns = {{"Stratum", false},
                   {"Drawn by", false},
                   {"Balance", true},
                   {"Simple random", true},
                   {"Ratio", true},
                   {"Nearest pair, m", true},
                   {"Replaced for closeness", true},
                   {"Largest departure", true},
                   {"Lattice points", true}};
  std::vector<std::string> notes;
  for (const StratumCertificate& c : facts.certificate.strata) {
    if (!asked(c)) continue;
    table.rows.push_back(spread_row(c));
    for (const std::string& note : c.draw.notes) notes.push_back(c.stratum.id + ": " + note);
  }
  if (table.rows.empty()) return {};
  return html_paragraph(
             "Balance is the mean squared departure from 1 of the share of ground nearest to each plot "
             "(0: perfectly even); simple random draws of the same number are beside it. A departure is the "
             "largest difference from equal chances that a distance between plots causes, found by drawing "
             "again and again, with its standard error; clearly past 5 % the stratum is drawn as a lattice, "
             "whose "
             "chances "
             "are equal.") +
         html_table(table) + html_list(notes, true);
}

std::string closeness_part(const DesignFacts& facts) {
  const auto& closeness = facts.certificate.closeness;
  if (!closeness) return {};
  HtmlTable table;
  table.caption = "Pairs of plots of one site";
  table.columns = {
      {"Pairs", false}, {"Both planned", true}, {"With spares", true}, {"The extreme one", false}};
  if (closeness->apart_m > 0)
    table.rows.push_back(
        pairs_row(fmt::format("Nearer than {} m, of different strata", shortest(closeness->apart_m)),
                  closeness->near_across_strata, "m"));
  table.rows.push_back(pairs_row("Overlapping on the ground", closeness->overlapping, "m²"));
  return html_table(table) + html_paragraph(fmt::format("Planned plots overlap on {} m² in all.",
                                                        grouped_decimals(closeness->overlap_m2, 2)));
}

namespace {

/// The chance of ground of mean weight.
std::string weighted_by_hand(const Stratum& s) {
  const double mean = s.weight_sum_m2() / s.area_m2();
  const std::string sum = grouped_decimals(s.weight_sum_m2(), 2), n = whole(s.drawn),
                    weight = six_figures(mean);
  return html_paragraph(
             fmt::format("{} holds {} planned plots; weight × m² sums to {} over it.", s.id, n, sum)) +
         "<div class=\"working\">\n" +
         html_paragraph(fmt::format("Chance per m² where the weight is {}: {} × {} ÷ {} = {}", weight, n,
                                    weight, sum, six_figures(double(s.drawn) * mean / s.weight_sum_m2()))) +
         "</div>\n" +
         html_paragraph(
             "The same with a plot's own weight gives its chance_per_m2 in the store; its weight_m2 is one "
             "over that.");
}

}  // namespace

std::string by_hand_part(const DesignFacts& facts) {
  const auto& strata = facts.certificate.strata;
  const auto most = std::max_element(strata.begin(), strata.end(), [](const auto& a, const auto& b) {
    const auto rank = [](const StratumCertificate& c) {
      const StratumKind kind = c.stratum.kind;
      return std::tuple(kind != StratumKind::line, c.stratum.kept == 0, kind == StratumKind::scored,
                        c.stratum.drawn);
    };
    return rank(a) < rank(b);
  });
  if (most == strata.end() || most->stratum.drawn == 0 || most->stratum.kind == StratumKind::line ||
      most->stratum.kept > 0)
    return {};
  const Stratum& s = most->stratum;
  if (s.weighted_mm2 > 0) return weighted_by_hand(s);
  const double from = most->drawn_from_m2();
  const double chance = double(s.drawn) / from, weight = from / double(s.drawn);
  const bool own = most->draw.start_ground_m2 <= 0;
  const std::string area = own ? square_metres(s.frame_mm2) : grouped_decimals(from, 2), n = whole(s.drawn);
  const double unit = facts.certificate.unit_area_m2;
  return html_paragraph(fmt::format("{} holds {} planned plots on {} m².", s.id, n, area)) +
         "<div class=\"working\">\n" +
         html_paragraph(fmt::format("Chance per m²: {} ÷ {} = {}", n, area, six_figures(chance))) +
         html_paragraph(
             fmt::format("Weight of a plot: {} ÷ {} = {} m²", area, n, grouped_decimals(weight, 2))) +
         html_paragraph(
             fmt::format("Chance that a plant away from edges lies in a planned plot: {} × {} = {}",
                         grouped_decimals(unit, 2), six_figures(chance), six_figures(unit * chance))) +
         "</div>\n" +
         html_paragraph(
             "The same division gives every other row of the table above; the plots carry the results in the "
             "store as chance_per_m2 and weight_m2.");
}

}  // namespace swardline
