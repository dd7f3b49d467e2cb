// Reading `[strata] by` and naming what it makes.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/strata_blocks.hpp"
#include "swardline/design/strata_pins.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

constexpr std::uint64_t most_kinds_of_ground = 1'000'000;

/// Parts of an identity are set apart by '|'.
std::string as_part(std::string text) {
  std::replace(text.begin(), text.end(), '|', '/');
  return text;
}

bool has_attribute(const Sites& sites, const std::string& name) {
  return std::any_of(sites.sites.begin(), sites.sites.end(),
                     [&](const Site& site) { return site.attributes.contains(name); });
}

/// A site keeps its name beside its other attributes: resolving lets no other name through that they lack.
const std::string& value_of(const Site& site, const std::string& attribute) {
  const auto found = site.attributes.find(attribute);
  return found != site.attributes.end() ? found->second : site.name;
}

void check_attribute(const StrataSpec& spec, const Sites& sites, const std::string& name) {
  for (const Site& site : sites.sites) {
    if (site.verge) continue;  // a stratum by itself
    const auto found = site.attributes.find(name);
    if (found != site.attributes.end() && !found->second.empty()) continue;
    throw InputError(
        site.place, fmt::format("strata are made by `{}`, and site {} has no value for it.", name, site.code),
        fmt::format("Fill it in, or take `{}` out of by ({}).", name, spec.place.text()));
  }
}

ClassPart class_part(const LayerSpec& spec, const Layers& layers) {
  const std::optional<std::size_t> index = layers.index(spec.name);
  if (!index) throw Defect(fmt::format("the strata's class layer {} was not opened", spec.name));
  ClassPart part;
  part.layer = spec.name;
  part.index = *index;
  std::set<std::string> codes;
  for (const auto& [value, code] : spec.classes) codes.insert(code);
  part.codes.assign(codes.begin(), codes.end());
  for (const auto& [value, code] : spec.classes) {
    part.code_of[value] =
        std::uint32_t(std::lower_bound(part.codes.begin(), part.codes.end(), code) - part.codes.begin());
  }
  return part;
}

[[noreturn]] void unknown_part(const Plan& plan, const Sites& sites, const std::string& name) {
  std::vector<std::string> known = {"site", "score"};
  for (const LayerSpec& layer : plan.layers) {
    if (layer.is_classes()) known.push_back(layer.name);
    if (layer.name == name) {
      throw InputError(plan.strata.place,
                       fmt::format("by names the layer {}, which is a measure: strata need classes.", name),
                       "Use a class layer, or `score`.");
    }
  }
  for (const Site& site : sites.sites) {
    for (const auto& [key, value] : site.attributes) {
      if (std::find(known.begin(), known.end(), key) == known.end()) known.push_back(key);
    }
  }
  if (name == plan.sites.code)
    throw InputError(plan.strata.place,
                     fmt::format("by names `{}`, the attribute of the sites' codes.", name),
                     "Write `site`: every code is a site.");
  const auto& hidden = plan.sites.private_attributes;
  const bool is_private = std::find(hidden.begin(), hidden.end(), name) != hidden.end();
  const std::string near = nearest_word(name, known);
  throw InputError(plan.strata.place,
                   is_private
                       ? fmt::format("by names `{}`, which is private and never read.", name)
                       : fmt::format("by names `{}`, which is no site attribute and no class layer.", name),
                   near.empty() ? fmt::format("Known here: {}.", in_words(known))
                                : fmt::format("Did you mean `{}`?", near));
}

void resolve_score(const StrataSpec& spec, const Model& model, StrataRule& rule) {
  if (model.species().empty()) {
    throw InputError(spec.place,
                     fmt::format("{} by score, and no species is scored.",
                                 rule.by_score ? "strata are made" : "plots are weighted"),
                     fmt::format("Take `score` out of {}, or give a species sheet factors.",
                                 rule.by_score ? "by" : "weight"));
  }
  rule.bands = spec.bands;
  if (spec.score_of == "best") {
    rule.score_of_words = "the best species";
  } else if (spec.score_of == "mean") {
    rule.score_of = StrataRule::ScoreOf::mean;
    rule.score_of_words = "the mean of the species";
  } else {
    std::vector<std::string> codes = {"best", "mean"};
    for (const ScoredSpecies& species : model.species()) codes.push_back(species.code);
    const auto found = std::find(codes.begin() + 2, codes.end(), spec.score_of);
    if (found == codes.end()) {
      const std::string near = nearest_word(spec.score_of, codes);
      throw InputError(spec.place,
                       fmt::format("score_of names {}, which is no scored species.", spec.score_of),
                       near.empty() ? fmt::format("It may be {}.", in_words(codes))
                                    : fmt::format("Did you mean {}?", near));
    }
    rule.score_of = StrataRule::ScoreOf::one;
    rule.species = std::size_t(found - codes.begin()) - 2;
    rule.score_of_words = spec.score_of;
  }
}

/// Readers of the plan have looked at the name; a layer may still have failed to open.
void resolve_weight(const Plan& plan, const Layers& layers, const Model& model, StrataRule& rule) {
  const WeightSpec& spec = plan.sample.weight;
  if (!spec.given()) return;
  WeightRule& weight = rule.weight;
  weight.step = spec.step;
  weight.floor = std::int32_t(std::llround(spec.floor / spec.step));
  if (spec.by_score()) {
    weight.of = WeightRule::Of::score;
    if (!rule.by_score) resolve_score(plan.strata, model, rule);
    return;
  }
  const std::optional<std::size_t> index = layers.index(spec.of);
  if (!index || layers.infos()[*index].kind == LayerKind::classes) {
    throw InputError(spec.place,
                     fmt::format("weight names {}, which is no measure layer of this season.", spec.of),
                     "Name a measure layer of the plan, or \"score\".");
  }
  weight.of = WeightRule::Of::layer;
  weight.layer = *index;
}

}  // namespace

std::vector<std::string> layers_for_draw(const Season& season) {
  std::vector<std::string> names = layers_needed(season);
  // For the tape on slopes, and baselines along the contours.
  const bool heights =
      season.plan.sample.unit == SampleUnit::transect && season.plan.layer("elevation") != nullptr;
  if (heights && std::find(names.begin(), names.end(), "elevation") == names.end())
    names.emplace_back("elevation");
  for (const std::string& name : season.plan.strata.by) {
    const LayerSpec* layer = season.plan.layer(name);
    const bool classes = layer != nullptr && layer->is_classes();
    if (classes && std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  const WeightSpec& weight = season.plan.sample.weight;
  if (weight.given() && !weight.by_score() &&
      std::find(names.begin(), names.end(), weight.of) == names.end()) {
    names.push_back(weight.of);
  }
  return names;
}

StrataRule resolve_strata(const Season& season, const Sites& sites, const Layers& layers,
                          const Model& model) {
  const Plan& plan = season.plan;
  StrataRule rule;
  std::uint64_t kinds = 1;
  for (const std::string& name : plan.strata.by) {
    const LayerSpec* layer = plan.layer(name);
    if (name == "site") {
      rule.by_site = true;
    } else if (name == "score") {
      rule.by_score = true;
      rule.parts.push_back({StrataRule::From::score, name});
    } else if (layer != nullptr && layer->is_classes()) {
      rule.parts.push_back({StrataRule::From::classes, name, rule.classes.size()});
      rule.classes.push_back(class_part(*layer, layers));
      kinds *= rule.classes.back().codes.size();
    } else if (name == plan.sites.name || has_attribute(sites, name)) {
      if (name != plan.sites.name) check_attribute(plan.strata, sites, name);
      rule.parts.push_back({StrataRule::From::attribute, name});
    } else {
      unknown_part(plan, sites, name);
    }
    if (kinds * (plan.strata.bands.size() + 1) > most_kinds_of_ground) {
      throw InputError(plan.strata.place, "by would make more than a million strata in every site.",
                       "Leave out a class layer, or name fewer classes.");
    }
  }
  if (rule.by_score) resolve_score(plan.strata, model, rule);
  check_grown_apart(rule, plan.sample, sites);
  resolve_weight(plan, layers, model, rule);
  return rule;
}

void check_strata(const Season& season, const Sites& sites, const Layers& layers, const Model& model,
                  Flags& flags) {
  try {
    (void)resolve_strata(season, sites, layers, model);
  } catch (const InputError& error) {
    flags.add(Severity::stop, "strata", {}, error.what());
  }
}

std::uint32_t StrataRule::class_combinations() const {
  std::uint32_t product = 1;
  for (const ClassPart& part : classes) product *= std::uint32_t(part.codes.size());
  return product;
}

const std::string& StrataRule::class_code(std::size_t which, GroundCode code) const {
  std::uint32_t combination = (code - ground_first_scored) / band_count();
  for (std::size_t i = 0; i < which; ++i) combination /= std::uint32_t(classes[i].codes.size());
  return classes[which].codes[combination % std::uint32_t(classes[which].codes.size())];
}

std::string StrataRule::head(const Site& site) const {
  std::string text = by_site ? as_part(site.code) : "all";
  for (const Part& part : parts) {
    if (part.from == From::attribute) text += '|' + as_part(part.name + '=' + value_of(site, part.name));
  }
  return text;
}

std::string StrataRule::kind(GroundCode code) const {
  if (code == ground_excluded) return "excluded";
  if (code == ground_no_score) return "no-score";
  std::string text;
  const auto add = [&](const std::string& part) { text += (text.empty() ? "" : "|") + part; };
  for (const Part& part : parts) {
    if (part.from == From::score) add("score=" + band_id(bands, band_of_ground(code)));
    if (part.from == From::classes) add(as_part(part.name + '=' + class_code(part.class_part, code)));
  }
  return text;
}

std::string StrataRule::id(const Site& site, GroundCode code) const {
  const std::string end = "|v" + std::to_string(version);
  if (code < ground_first_scored) return head(site) + '|' + kind(code) + end;
  std::string text = by_site ? as_part(site.code) : "all";
  for (const Part& part : parts) {
    switch (part.from) {
      case From::attribute:
        text += '|' + as_part(part.name + '=' + value_of(site, part.name));
        break;
      case From::score:
        text += "|score=" + band_id(bands, band_of_ground(code));
        break;
      case From::classes:
        text += '|' + as_part(part.name + '=' + class_code(part.class_part, code));
        break;
    }
  }
  return text + end;
}

std::string StrataRule::words(const Site& site, GroundCode code) const {
  std::vector<std::string> said;
  for (const Part& part : parts) {
    if (part.from == From::attribute) said.push_back(part.name + ' ' + value_of(site, part.name));
    if (code < ground_first_scored) continue;
    if (part.from == From::score) {
      said.push_back(fmt::format("score {} of {}", band_text(bands, band_of_ground(code)), score_of_words));
    }
    if (part.from == From::classes) said.push_back(part.name + ' ' + class_code(part.class_part, code));
  }
  if (code == ground_excluded) said.emplace_back("excluded for every scored species");
  if (code == ground_no_score) said.emplace_back("no score");
  return said.empty() ? "all of the survey area" : fmt::format("{}", fmt::join(said, ", "));
}

}  // namespace swardline
