#include "swardline/season/read_allocation.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

bool strata_by_score(const Plan& plan) {
  const auto& by = plan.strata.by;
  return std::find(by.begin(), by.end(), "score") != by.end();
}

/// A stratum's identity, "QPR|score=50-75", can only be looked up once there are strata.
bool is_identity(const std::string& key) { return key.find('|') != std::string::npos; }

std::string last_word(const std::string& key) { return key.substr(key.find_last_of(' ') + 1); }

bool looks_like_a_band(const std::string& word) {
  return !word.empty() && word[0] >= '0' && word[0] <= '9' && word.find('-') != std::string::npos;
}

void check_band(const TomlTable& at, const Plan& plan, const std::string& key, const toml::node& node) {
  const std::vector<std::string> bands = band_keys(plan.strata.bands);
  const std::string band = last_word(key);
  if (std::find(bands.begin(), bands.end(), band) != bands.end()) return;
  const std::string nearest = nearest_word(band, bands);
  at.stop(at.place_of(node), "unknown band", fmt::format("'{}' is no band of [strata].", key),
          nearest.empty() ? fmt::format("The bands are {}.", in_words(bands))
                          : fmt::format("Did you mean \"{}\"?", nearest));
}

/// One number for each stratum, by band. `what` is what is missing where a band has none.
class ByBand {
 public:
  ByBand(const TomlTable& at, const Plan& plan, std::map<std::string, double>& into)
      : at_(at), plan_(plan), into_(into) {}

  void add(const std::string& key, const toml::node& node) {
    if (const auto value = at_.number_of(key, node, zero_up)) into_[key] = *value;
    given_.insert(last_word(key));
    any_identity_ = any_identity_ || is_identity(key);
    if (strata_by_score(plan_) && !is_identity(key)) check_band(at_, plan_, key, node);
  }
  void add_all() {
    at_.each([this](const std::string& key, const toml::node& node) { add(key, node); });
  }
  void need_every_band(const char* what, const char* example) const {
    if (plan_.sample.allocation != Allocation::optimal || !strata_by_score(plan_) || any_identity_) return;
    for (const std::string& band : band_keys(plan_.strata.bands)) {
      if (given_.count(band)) continue;
      at_.stop(at_.place(), "spread missing", fmt::format("gives no {} for the band {}.", what, band),
               fmt::format("{}: \"{}\" = 3.6.", example, band));
    }
  }

 private:
  const TomlTable& at_;
  const Plan& plan_;
  std::map<std::string, double>& into_;
  std::set<std::string> given_;
  bool any_identity_ = false;
};

/// A table of one number for each stratum under a species.
void read_numbers(const TomlTable& species, const char* key, const char* what, const Plan& plan,
                  std::map<std::string, double>& into) {
  if (!species.require(key)) return;
  const auto table = species.table(key);
  if (!table) return;
  ByBand numbers(*table, plan, into);
  numbers.add_all();
  numbers.need_every_band(what, "Add it");
}

void read_species(const TomlTable& at, const std::string& code, const toml::node& node, Plan& plan) {
  const auto table = at.chosen(code, node, "[sample.spread." + code + "] ");
  if (!table) return;
  SpeciesSpread& spread = plan.sample.species_spread[code];
  spread.place = table->place();
  take(table->number("target", above_zero), spread.target);
  read_numbers(*table, "mean", "mean", plan, spread.mean);
  read_numbers(*table, "sd", "standard deviation", plan, spread.sd);
  const bool grows = std::any_of(spread.mean.begin(), spread.mean.end(),
                                 [](const auto& band_and_mean) { return band_and_mean.second > 0; });
  if (spread.mean.empty() || grows) return;
  table->stop(table->place("mean"), "no mean", "mean is 0 everywhere, so no relative error can be aimed at.",
              "Give the counts per plot that are expected, or take the species out.");
}

void read_spread(const TomlTable& sample, Plan& plan) {
  const auto spread = sample.table("spread");
  const bool optimal = plan.sample.allocation == Allocation::optimal;
  if (optimal && !spread) {
    sample.stop(
        sample.place("allocation"), "spread missing",
        "allocation = \"optimal\" needs the spread of plot counts in every band.",
        "Add [sample.spread] with standard deviations, like \"0.50-0.75\" = 3.6, or write \"proportional\".");
    return;
  }
  if (!spread) return;
  ByBand plain(*spread, plan, plan.sample.spread);
  bool any_plain = false, any_species = false;
  spread->each([&](const std::string& key, const toml::node& node) {
    if (node.is_table()) {
      any_species = true;
      read_species(*spread, key, node, plan);
    } else {
      any_plain = true;
      plain.add(key, node);
    }
  });
  if (any_plain && any_species) {
    spread->stop(spread->place(), "two kinds of spread", "gives spreads for plots and for species.",
                 "Give either numbers by band, or a table for each species.");
  }
  if (!any_species) plain.need_every_band("spread", "Add a standard deviation");
}

void read_cost(const TomlTable& sample, Plan& plan) {
  const auto cost = sample.table("cost");
  if (cost) {
    cost->each([&](const std::string& key, const toml::node& node) {
      const auto value = cost->number_of(key, node, {.low = 0.1, .high = 1e6});
      if (value) plan.sample.cost[key] = *value;
      // Any other word may be a site: the strata will tell.
      if (strata_by_score(plan) && !is_identity(key) && looks_like_a_band(last_word(key)))
        check_band(*cost, plan, key, node);
    });
  }
  plan.sample.budget_minutes = sample.number("budget_minutes", {.low = 0, .high = 1e7, .above_low = true});
  if (plan.sample.budget_minutes && !cost) {
    sample.stop(sample.place("budget_minutes"), "cost missing",
                "budget_minutes needs the minutes that a plot takes.",
                "Add [sample.cost], like \"0.50-0.75\" = 25, or a site = 40.");
  }
}

void check_weight_layer(const TomlTable& sample, const Plan& plan) {
  const std::string& of = plan.sample.weight.of;
  const LayerSpec* layer = plan.layer(of);
  if (layer && layer->is_classes()) {
    sample.stop(sample.place("weight"), "weight of classes",
                fmt::format("weight names {}, which holds classes: chances need a measure.", of),
                "Name a measure layer or \"score\", or make strata of the classes: by = [\"" + of + "\"].");
  }
  if (layer || of == "slope" || of == "heat") return;
  std::vector<std::string> known = {"score"};
  for (const LayerSpec& one : plan.layers) {
    if (!one.is_classes()) known.push_back(one.name);
  }
  const std::string nearest = nearest_word(of, known);
  sample.stop(sample.place("weight"), "unknown layer", fmt::format("weight names {}, which is no layer.", of),
              nearest.empty() ? fmt::format("Write one of: {}.", in_words(known))
                              : fmt::format("Did you mean {}?", nearest));
}

void read_weight(const TomlTable& sample, Plan& plan) {
  WeightSpec& weight = plan.sample.weight;
  weight.place = sample.place("weight");
  take(sample.text("weight"), weight.of);
  const bool by_score = weight.by_score();
  take(sample.number("weight_floor", {.low = 0, .high = by_score ? 1 : 1e9}), weight.floor);
  take(sample.number("weight_step", {.low = 1e-9, .high = 1e9}), weight.step);
  if (!weight.given()) {
    for (const char* key : {"weight_floor", "weight_step"}) {
      if (sample.has(key) && !sample.has("weight"))
        sample.stop(sample.place(key), "weight missing", fmt::format("{} is given without weight.", key),
                    "Write weight = \"score\" or the name of a measure layer, or take it out.");
    }
    return;
  }
  if (by_score) {
    if (weight.step != 0.01)
      sample.stop(sample.place("weight_step"), "weight step", "the score's weights are whole percents.",
                  "Take weight_step out.");
  } else {
    check_weight_layer(sample, plan);
  }
  if (plan.sample.unit == SampleUnit::transect)
    sample.stop(sample.place("weight"), "weight of transects",
                "weight is for plots: transects are laid with equal chances.",
                "Take weight out, or write unit = \"plot\".");
  const EdgeRule edge = plan.sample.edge;
  if (edge == EdgeRule::grown_frame || edge == EdgeRule::inner_margin)
    sample.stop(sample.place("weight"), "weight and edge rule",
                "weight needs pins that fall on all of the survey area and nowhere else.",
                "Write edge = \"walk-through\", or take weight out.");
  const double steps = weight.floor / weight.step;
  if (weight.floor > 0 && (steps < 0.5 || steps > 1e6))
    sample.stop(sample.place("weight_floor"), "weight floor",
                fmt::format("weight_floor = {} is not between one and a million steps of {}.",
                            shortest(weight.floor), shortest(weight.step)),
                "Choose another floor, or another weight_step.");
}

}  // namespace

void read_allocation(const TomlTable& sample, Plan& plan) {
  read_spread(sample, plan);
  read_cost(sample, plan);
  read_weight(sample, plan);
}

}  // namespace swardline
