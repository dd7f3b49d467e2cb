#include "swardline/season/read_sample.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/read_allocation.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

void check_bands(const TomlTable& at, const std::vector<double>& bands) {
  const Place place = at.place("bands");
  const std::string remedy = "Write rising whole percents between 0 and 1, like bands = [0.25, 0.5, 0.75].";
  if (bands.empty()) at.stop(place, "score bands", "bands is empty.", "Leave \"score\" out of by instead.");
  for (std::size_t i = 0; i < bands.size(); ++i) {
    const double edge = bands[i];
    if (!(edge > 0 && edge < 1)) {
      at.stop(place, "score bands", fmt::format("bands: {} is not between 0 and 1.", shortest(edge)), remedy);
    } else if (std::abs(edge * 100 - std::round(edge * 100)) > 1e-9) {
      at.stop(place, "score bands",
              fmt::format("bands: {} is not a whole percent, and maps hold whole percents.", shortest(edge)),
              remedy);
    }
    if (i > 0 && bands[i] <= bands[i - 1]) {
      at.stop(place, "score bands",
              fmt::format("bands: {} comes before {}.", shortest(bands[i - 1]), shortest(edge)),
              "Edges must rise.");
    }
  }
}

void read_size(const TomlTable& at, Plan& plan) {
  SampleSpec& sample = plan.sample;
  const bool belt = sample.shape == UnitShape::belt;
  const Range metres{.low = 0, .high = 10000, .above_low = true};
  const toml::node* node = at.find("size_m");
  if (!node) {
    if (!belt) at.require("size_m");
    return;
  }
  std::vector<double> size;
  if (!node->is_array()) {
    const auto one = at.number("size_m", metres);
    if (!one) return;
    size = {*one};
  } else {
    auto list = at.numbers("size_m", metres);
    if (!list) return;
    size = std::move(*list);
  }
  const Place place = at.place("size_m");
  if (size.size() != (belt ? 2U : 1U)) {
    at.stop(place, "plot size",
            belt ? "size_m of a belt is its width and its length."
                 : "size_m of a circle or square is one number.",
            belt ? "Write size_m = [2, 10]."
                 : "Write the radius of a circle, or the side of a square, like size_m = 5.");
    return;
  }
  if (belt && size[0] > size[1]) {
    at.stop(
        place, "plot size",
        fmt::format("size_m: the width {} is more than the length {}.", shortest(size[0]), shortest(size[1])),
        fmt::format("Write size_m = [{}, {}].", shortest(size[1]), shortest(size[0])));
  }
  sample.size_m = {size[0], belt ? size[1] : size[0]};
}

void read_total(const TomlTable& at, SampleSpec& sample) {
  const toml::node* node = at.find("total");
  if (node && node->is_string()) {
    if (const auto from = at.choice("total", {"precision", "hours"}))
      sample.total_from = *from == 0 ? TotalFrom::precision : TotalFrom::hours;
  } else if (const auto total = at.whole("total", 1, 10000000)) {
    sample.total = static_cast<int>(*total);
  }
}

void read_bearing(const TomlTable& at, Plan& plan) {
  const toml::node* node = at.find("bearing");
  if (!node) return;
  if (node->is_string()) {
    (void)at.choice("bearing", {"random"});
  } else {
    plan.sample.bearing_deg = at.number("bearing", {.low = 0, .high = 360, .below_high = true});
  }
}

void read_edge(const TomlTable& at, Plan& plan) {
  SampleSpec& sample = plan.sample;
  const auto rule =
      at.choice("edge", {"walk-through", "grown-frame", "fold-back", "inside-area", "inner-margin"});
  if (rule) sample.edge = static_cast<EdgeRule>(*rule);
  if (sample.edge == EdgeRule::fold_back && sample.shape != UnitShape::belt) {
    at.stop(at.place("edge"), "edge rule and shape",
            "edge = \"fold-back\" folds a belt along its midline, and these plots are no belts.",
            "Write edge = \"walk-through\", or shape = \"belt\".");
  }
  take(at.number("margin_m", {.low = 0, .high = 1e6, .above_low = true}), sample.margin_m);
  const bool inner = sample.edge == EdgeRule::inner_margin;
  if (inner && !at.has("margin_m")) {
    at.stop(at.place("edge"), "inner margin missing",
            "edge = \"inner-margin\" does not say how far from the edge pins must stay.",
            "Add margin_m, in metres, like margin_m = 5.");
  }
  // Of a rule that could not be read nothing can be said.
  if (!inner && at.has("margin_m") && (rule || !at.has("edge"))) {
    at.stop(at.place("margin_m"), "inner margin not used",
            "margin_m is for edge = \"inner-margin\" only, and no pin would be kept from the edge.",
            "Take margin_m out, or write edge = \"inner-margin\".");
  }
}

void read_formats(const TomlTable& at, const std::vector<std::string>& formats, Plan& plan) {
  const std::vector<std::string> known = {"gpx", "geojson", "kml", "csv", "gpkg"};
  if (formats.empty()) at.stop(at.place("as"), "empty list", "as names no format.", "Write as = [\"gpx\"].");
  plan.points.formats.clear();
  for (const std::string& format : formats) {
    auto& chosen = plan.points.formats;
    if (std::find(known.begin(), known.end(), format) == known.end()) {
      const std::string nearest = nearest_word(format, known);
      at.stop(at.place("as"), "unknown word", fmt::format("as: \"{}\" is not a format.", format),
              nearest.empty() ? fmt::format("Write some of: {}.", in_words(known))
                              : fmt::format("Did you mean {}?", nearest));
    } else if (std::find(chosen.begin(), chosen.end(), format) == chosen.end()) {
      chosen.push_back(format);
    }
  }
}

}  // namespace

std::vector<std::string> band_keys(const std::vector<double>& bands) {
  std::vector<std::string> keys;
  double low = 0;
  for (std::size_t i = 0; i <= bands.size(); ++i) {
    const double high = i < bands.size() ? bands[i] : 1.0;
    keys.push_back(fmt::format("{:.2f}-{:.2f}", low, high));
    low = high;
  }
  return keys;
}

void read_strata(const TomlTable& at, Plan& plan) {
  StrataSpec& strata = plan.strata;
  strata.place = at.place();
  take(at.texts("by"), strata.by);
  if (strata.by.empty()) at.stop(at.place("by"), "empty list", "by names nothing.", "Write by = [\"site\"].");
  std::set<std::string> seen;
  for (const std::string& item : strata.by) {
    if (!seen.insert(item).second) {
      at.stop(at.place("by"), "named twice", fmt::format("by names {} twice.", item), "Name it once.");
    }
    const LayerSpec* layer = plan.layer(item);
    if ((layer && !layer->is_classes()) || (!layer && is_derived(item))) {
      at.stop(at.place("by"), "strata of a measure",
              fmt::format("by names {}, which is a measure: strata are made of classes.", item),
              "Name a class layer, a site attribute, \"site\" or \"score\".");
    }
  }
  take(at.text("score_of"), strata.score_of);
  take(at.number("smallest_m2", zero_up), strata.smallest_m2);
  if (auto bands = at.numbers("bands", {})) {
    check_bands(at, *bands);
    strata.bands = std::move(*bands);
  }
}

void read_sample(const TomlTable& at, Plan& plan) {
  SampleSpec& sample = plan.sample;
  sample.place = at.place();
  if (const auto unit = at.choice("unit", {"plot", "transect"})) sample.unit = static_cast<SampleUnit>(*unit);
  const auto shape = at.choice("shape", {"circle", "square", "belt"});
  if (shape && sample.unit == SampleUnit::plot) sample.shape = static_cast<UnitShape>(*shape);
  // What size_m must hold follows from the shape; of an unknown one nothing can be said.
  if (sample.unit == SampleUnit::plot && (shape || !at.has("shape"))) read_size(at, plan);
  read_total(at, sample);
  if (const auto each = at.whole("each", 1, 1000000)) sample.each = static_cast<int>(*each);
  std::vector<std::string> numbers;
  for (const char* key : {"total", "each", "budget_minutes"}) {
    if (at.has(key)) numbers.emplace_back(key);
  }
  if (numbers.size() != 1) {
    at.stop(
        at.place(numbers.empty() ? "" : numbers[1]), "how many plots",
        numbers.empty()       ? "says neither total nor each."
        : numbers.size() == 2 ? fmt::format("{} are both given.", in_words(numbers))
                              : fmt::format("{} are all given.", in_words(numbers)),
        "Write one: total = 240 plots over all strata, each = 6 in every stratum, or budget_minutes = 4800 "
        "for all plots.");
  }
  if (const auto how = at.choice("allocation", {"equal", "proportional", "optimal"})) {
    sample.allocation = static_cast<Allocation>(*how);
    if (at.has("each") && numbers.size() == 1) {
      at.add(Severity::note, at.place("allocation"), "allocation not used",
             "allocation is not used: each gives every stratum the same number.",
             "Take it out, or use total.");
    }
  }
  take(at.whole("least_per_stratum", 0, 1000000), sample.least_per_stratum);
  take(at.number("spares", {0, 100}), sample.spares);
  read_edge(at, plan);
  read_bearing(at, plan);
  take(at.number("apart_m", {0, 1e6}), sample.apart_m);
  if (const auto rule = at.choice("apart_rule", {"spread", "refuse"})) {
    sample.refuse_when_apart_binds = *rule == 1;
  }
  take(at.yes_no("plots_in_excluded"), sample.plots_in_excluded);
  take(at.number("keep_tolerance_m", {0, 1000}), sample.keep_tolerance_m);
  read_allocation(at, plan);
}

void read_points(const TomlTable& at, Plan& plan) {
  PointsSpec& points = plan.points;
  const std::vector<std::string> profiles = {"6", "8", "10", "free"};
  const toml::node* profile = at.find("name_profile");
  if (profile && profile->is_integer()) {
    const std::string digits = std::to_string(profile->as_integer()->get());
    if (std::find(profiles.begin(), profiles.end(), digits) == profiles.end()) {
      at.stop(at.place("name_profile"), "unknown word",
              fmt::format("name_profile = {} is not known.", digits), "Write one of: 6, 8, 10 and \"free\".");
    } else {
      points.name_profile = digits;
    }
  } else if (const auto index = at.choice("name_profile", profiles)) {
    points.name_profile = profiles[*index];
  }
  take(at.whole("points_per_file", 0, 100000000), points.points_per_file);
  take(at.whole("points_per_route", 0, 100000000), points.points_per_route);
  if (auto formats = at.texts("as")) {
    read_formats(at, *formats, plan);
  }
}

}  // namespace swardline
