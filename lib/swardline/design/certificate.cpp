// The draw's certificate as JSON.
#include <fmt/format.h>

#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/design/blocks.hpp"
#include "swardline/design/draw_season.hpp"
#include "swardline/design/edges.hpp"

namespace swardline {
namespace {

std::string number(double value) { return std::isfinite(value) ? shortest(value) : "null"; }

std::string square_metres(std::int64_t mm2) {
  return fmt::format("{}.{:06d}", mm2 / 1'000'000, mm2 % 1'000'000);
}

const char* word(StratumKind kind) {
  switch (kind) {
    case StratumKind::scored:
      return "scored";
    case StratumKind::excluded:
      return "excluded";
    case StratumKind::no_score:
      return "no score";
    case StratumKind::line:
      return "line";
  }
  return "";
}

const char* word(DrawMethod method) {
  switch (method) {
    case DrawMethod::pivotal:
      return "local pivotal over a hierarchical order";
    case DrawMethod::lattice:
      return "triangular lattice";
    case DrawMethod::refused:
      return "refused";
    case DrawMethod::baseline:
      return "spread along a baseline with a random start";
    case DrawMethod::independent:
      return "independent random starts";
    case DrawMethod::units:
      return "local pivotal over the segments of a line";
    case DrawMethod::kept:
      return "kept from earlier seasons";
  }
  return "";
}

std::string list(const std::vector<std::string>& items, const std::string& indent) {
  if (items.empty()) return "[]";
  std::string text = "[";
  for (std::size_t i = 0; i < items.size(); ++i) text += (i == 0 ? "\n" : ",\n") + indent + "  " + items[i];
  return text + "\n" + indent + "]";
}

std::string quoted_list(const std::vector<std::string>& items, const std::string& indent) {
  std::vector<std::string> quoted;
  for (const std::string& item : items) quoted.push_back(json_quote(item));
  return list(quoted, indent);
}

/// Members in the order they are added.
class Object {
 public:
  explicit Object(std::string indent) : indent_(std::move(indent)) {}
  void add(const char* key, const std::string& value) {
    text_ += fmt::format("{}\n{}  \"{}\": {}", text_.empty() ? "" : ",", indent_, key, value);
  }
  void add(const char* key, double value) { add(key, number(value)); }
  void add(const char* key, int value) { add(key, std::to_string(value)); }
  [[nodiscard]] std::string text() const { return "{" + text_ + "\n" + indent_ + "}"; }

 private:
  std::string indent_, text_;
};

std::string stratum_json(const StratumCertificate& c) {
  const std::string indent = "    ";
  const double from = c.drawn_from_m2();
  const StratumDraw& draw = c.draw;
  Object o(indent);
  o.add("stratum", json_quote(c.stratum.id));
  o.add("site", json_quote(c.stratum.site));
  o.add("rule", json_quote(c.stratum.rule));
  o.add("kind", json_quote(word(c.stratum.kind)));
  o.add("joined", json_quote(c.stratum.joined));
  o.add("version", c.stratum.version);
  o.add("area_m2", square_metres(c.stratum.area_mm2));
  o.add("frame_m2", square_metres(c.stratum.frame_mm2));
  o.add("geodesic_ratio", c.stratum.geodesic_ratio);
  o.add("kept", c.stratum.kept);
  o.add("over_all_panels", c.stratum.all_planned);
  o.add("asked_planned", c.stratum.planned);
  o.add("asked_spares", c.stratum.spares);
  o.add("drawn_planned", c.stratum.drawn);
  o.add("drawn_spares", c.stratum.spares_drawn);
  // Of segments the chance is each one's, whatever its area; kept plots have the chances they were drawn
  // with, each its own.
  const bool units = draw.method == DrawMethod::units, kept = draw.method == DrawMethod::kept;
  const bool any = c.stratum.drawn > 0 && !units && !kept;
  o.add("segments", units ? std::to_string(draw.candidates) : "null");
  o.add("chance",
        units && draw.candidates > 0 ? number(double(c.stratum.drawn) / double(draw.candidates)) : "null");
  o.add("chance_per_m2", from > 0 && !units && !kept ? number(double(c.stratum.drawn) / from) : "null");
  const bool equal = c.stratum.weighted_mm2 == 0;
  o.add("weight_m2", any && equal ? number(from / double(c.stratum.drawn)) : "null");
  o.add("weight_sum_m2", equal ? "null" : number(c.stratum.weight_sum_m2()));
  o.add("at_floor_m2", equal ? "null" : square_metres(c.stratum.at_floor_mm2));
  if (draw.start_ground_m2 > 0) o.add("start_ground_m2", draw.start_ground_m2);
  o.add("method", c.stratum.planned + c.stratum.spares == 0 ? "null" : json_quote(word(draw.method)));
  o.add("candidates", std::to_string(draw.candidates));
  o.add("balance", draw.balance);
  o.add("balance_of_simple_random", draw.balance_of_random);
  o.add("nearest_pair_m", c.stratum.drawn > 1 ? number(draw.nearest_pair_m) : "null");
  o.add("replaced_for_closeness", draw.replaced_for_closeness);
  o.add("largest_departure", draw.largest_departure ? number(*draw.largest_departure) : "null");
  o.add("largest_departure_error", draw.largest_departure ? number(draw.largest_departure_error) : "null");
  o.add("redraws", draw.redraws);
  o.add("apart_that_fits_m", draw.apart_that_fits_m ? number(*draw.apart_that_fits_m) : "null");
  o.add("lattice_points", draw.method == DrawMethod::lattice ? std::to_string(draw.lattice_points) : "null");
  o.add("shortfalls", quoted_list(draw.shortfalls, indent + "  "));
  o.add("notes", quoted_list(draw.notes, indent + "  "));
  return o.text();
}

std::string site_json(const SiteCertificate& site) {
  Object o("    ");
  o.add("site", json_quote(site.code));
  o.add("name", json_quote(site.name));
  o.add("survey_m2", site.survey_m2);
  o.add("drawn_planned", site.planned);
  o.add("drawn_spares", site.spares);
  return o.text();
}

std::string chosen_json(const ChosenGround& chosen) {
  Object o("    ");
  o.add("site", json_quote(chosen.site));
  o.add("blocks", quoted_list(chosen.blocks, "      "));
  o.add("chosen_m2", chosen.chosen_m2);
  o.add("of_survey_m2", chosen.of_m2);
  o.add("share", chosen.share());
  o.add("speaks_for", json_quote(in_words(chosen)));
  return o.text();
}

void add_pairs(Object& o, const std::string& key, const ClosePairs& pairs, const char* extreme) {
  o.add(key.c_str(), pairs.planned);
  o.add((key + "_with_spares").c_str(), pairs.with_spares);
  o.add((key + "_" + extreme).c_str(), pairs.any() ? number(pairs.extreme) : "null");
  o.add(
      (key + "_plots").c_str(),
      pairs.any() ? fmt::format("[{}, {}]", json_quote(pairs.names[0]), json_quote(pairs.names[1])) : "null");
}

std::string expected_json(const ExpectedError& error) {
  Object o("    ");
  o.add("species", json_quote(error.species));
  o.add("target", error.target);
  o.add("relative_standard_error", error.expected ? number(*error.expected) : "null");
  return o.text();
}

std::string closeness_json(const Closeness& closeness) {
  Object o("  ");
  o.add("apart_m", closeness.apart_m);
  add_pairs(o, "near_across_strata", closeness.near_across_strata, "nearest_m");
  add_pairs(o, "overlapping", closeness.overlapping, "most_m2");
  o.add("overlap_m2", closeness.overlap_m2);
  return o.text();
}

std::string edge_json(const Certificate& certificate) {
  const EdgeCertificate& edge = certificate.edge;
  Object o("  ");
  o.add("rule", json_quote(edge.of_transects.empty() ? word(edge.rule) : edge.of_transects));
  o.add("estimator", json_quote(estimator(edge.rule, certificate.weighted())));
  o.add("losses", quoted_list(edge.losses, "    "));
  return o.text();
}

}  // namespace

bool Certificate::weighted() const {
  return std::any_of(strata.begin(), strata.end(),
                     [](const StratumCertificate& c) { return c.stratum.weighted_mm2 > 0; });
}

std::string to_json(const Certificate& certificate) {
  std::vector<std::string> strata;
  for (const StratumCertificate& c : certificate.strata) strata.push_back(stratum_json(c));
  std::vector<std::string> sites;
  for (const SiteCertificate& site : certificate.sites) sites.push_back(site_json(site));
  std::vector<std::string> chosen;
  for (const ChosenGround& ground : certificate.chosen) chosen.push_back(chosen_json(ground));
  std::vector<std::string> expected;
  for (const ExpectedError& error : certificate.expected) expected.push_back(expected_json(error));
  Object o("");
  o.add("seed", std::to_string(certificate.seed));
  o.add("season", json_quote(certificate.season));
  o.add("unit", json_quote(certificate.unit));
  o.add("unit_area_m2", certificate.unit_area_m2);
  o.add("apart_m", certificate.apart_m);
  o.add("inputs", json_quote(certificate.inputs));
  o.add("inputs_of", json_quote(what_inputs_are));
  o.add("routes", quoted_list(certificate.routes, "  "));
  o.add("edge", edge_json(certificate));
  o.add("strata_of_record", quoted_list(certificate.record, "  "));
  o.add("strata_of_record_fingerprint", json_quote(certificate.record_fingerprint));
  o.add("kept", quoted_list(certificate.kept, "  "));
  o.add("panels", certificate.panels ? to_json(*certificate.panels, "  ") : "null");
  o.add("allocation", quoted_list(certificate.allocation, "  "));
  o.add("merged", quoted_list(certificate.merged, "  "));
  o.add("expected", list(expected, "  "));
  o.add("shortfalls", quoted_list(certificate.shortfalls, "  "));
  o.add("methods", quoted_list(certificate.methods, "  "));
  o.add("sites", list(sites, "  "));
  o.add("chosen_blocks", list(chosen, "  "));
  o.add("closeness", certificate.closeness ? closeness_json(*certificate.closeness) : "null");
  o.add("strata", list(strata, "  "));
  return o.text() + "\n";
}

}  // namespace swardline
