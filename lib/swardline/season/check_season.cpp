// Plan and sheets held against each other: layers, classes, codes.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/read_traits.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

std::vector<std::string> layer_names(const Plan& plan) {
  std::vector<std::string> names;
  for (const LayerSpec& layer : plan.layers) names.push_back(layer.name);
  return names;
}

/// The plan's layer behind a factor or mask; flags when there is none. For a derived layer it is elevation.
const LayerSpec* behind(const Plan& plan, const std::string& layer, const std::string& code,
                        const Place& place, Flags& flags) {
  if (const LayerSpec* spec = plan.layer(layer)) return spec;
  const std::string source = is_derived(layer) ? "elevation" : layer;
  if (is_derived(layer)) {
    if (const LayerSpec* spec = plan.layer("elevation")) {
      if (!spec->is_classes()) return spec;
      flags.add(
          Severity::stop, "elevation of classes", place,
          fmt::format("{}: {} comes from elevation, but [layers.elevation] holds classes.", code, layer),
          "Give the elevation layer as a measure in metres.");
      return nullptr;
    }
  }
  const std::string nearest = nearest_word(layer, layer_names(plan));
  flags.add(Severity::stop, "layer missing", place,
            fmt::format("{}: {} is in the rule but no {} layer was given. Not scored.", code, layer, source),
            nearest.empty() || is_derived(layer)
                ? fmt::format("Add [layers.{}] to the plan, or take {} out of the sheet.", source, layer)
                : fmt::format("Did you mean {}? Otherwise add [layers.{}] to the plan.", nearest, source));
  return nullptr;
}

std::vector<std::string> class_codes(const LayerSpec& layer) {
  std::vector<std::string> codes;
  for (const auto& [value, code] : layer.classes) {
    if (std::find(codes.begin(), codes.end(), code) == codes.end()) codes.push_back(code);
  }
  return codes;
}

void check_classes(const Factor& factor, const ClassTable& table, const LayerSpec& layer,
                   const std::string& code, Flags& flags) {
  const std::vector<std::string> known = class_codes(layer);
  const auto check_known = [&](const std::string& class_code) {
    if (std::find(known.begin(), known.end(), class_code) != known.end()) return;
    const std::string nearest = nearest_word(class_code, known);
    flags.add(Severity::stop, "unknown class", factor.place,
              fmt::format("{} {}: the layer has no class {}.", code, factor.layer, class_code),
              nearest.empty() ? fmt::format("Its classes are {}.", in_words(known))
                              : fmt::format("Did you mean {}?", nearest));
  };
  for (const auto& [class_code, score] : table.scores) check_known(class_code);
  for (const std::string& class_code : table.excluded) check_known(class_code);
  if (table.otherwise) return;
  std::vector<std::string> unlisted;
  for (const std::string& class_code : known) {
    if (!table.scores.count(class_code) && !table.excluded.count(class_code)) unlisted.push_back(class_code);
  }
  if (unlisted.empty()) return;
  flags.add(Severity::stop, "unlisted class", factor.place,
            fmt::format("{} {}: the layer has {}, the sheet says nothing about {}.", code, factor.layer,
                        in_words(unlisted), unlisted.size() == 1 ? "it" : "them"),
            "Score or exclude each, or write otherwise = 0.0 for all that are not listed.");
}

void check_factor(const Plan& plan, const Sheet& sheet, const Factor& factor, Flags& flags) {
  const LayerSpec* layer = behind(plan, factor.layer, sheet.code, factor.place, flags);
  if (!layer) return;
  const auto* table = std::get_if<ClassTable>(&factor.response);
  // A layer that comes from elevation is a measure.
  const bool classes = layer->name == factor.layer && layer->is_classes();
  if (table && classes) {
    check_classes(factor, *table, *layer, sheet.code, flags);
  } else if (table) {
    flags.add(Severity::stop, "class scores of a measure", factor.place,
              fmt::format("{} {}: scores are for classes, and {} is a measure.", sheet.code, factor.layer,
                          factor.layer),
              fmt::format("Use trapezoid or points, or name the classes in [layers.{}].", factor.layer));
  } else if (classes) {
    flags.add(Severity::stop, "trapezoid on classes", factor.place,
              fmt::format("{} {}: trapezoid and points are for measures, and {} holds classes.", sheet.code,
                          factor.layer, factor.layer),
              "Use scores = { … } instead.");
  }
}

void check_mask(const Plan& plan, const Sheet& sheet, Mask& mask, Flags& flags) {
  const LayerSpec* layer = behind(plan, mask.layer, sheet.code, mask.place, flags);
  if (layer && layer->name == mask.layer && layer->is_classes()) {
    flags.add(Severity::stop, "mask on classes", mask.place,
              fmt::format("{} mask on {}: a mask needs a measure, and {} holds classes.", sheet.code,
                          mask.layer, mask.layer),
              "Write excluded = [ … ] in the factor instead.");
  }
  if (!mask.reason.empty()) return;
  const std::string unit = unit_of(plan, mask.layer);
  std::vector<std::string> parts;
  if (mask.keep_below) parts.push_back("at or above " + with_unit(*mask.keep_below, unit));
  if (mask.keep_above) parts.push_back("at or below " + with_unit(*mask.keep_above, unit));
  mask.reason = layer_words(mask.layer);
  for (std::size_t i = 0; i < parts.size(); ++i) mask.reason += (i == 0 ? " " : ", or ") + parts[i];
}

void check_code(const Sheet& sheet, Flags& flags) {
  if (sheet.code.empty()) return;
  if (spreadsheet_misreads(sheet.code)) {
    flags.add(Severity::stop, "code a spreadsheet misreads", sheet.place,
              fmt::format("code {} becomes {} in spreadsheets: choose another.", sheet.code,
                          spreadsheet_turns_into(sheet.code)),
              "Four letters work well.");
  }
  if (safe_file_name(sheet.code) != sheet.code) {
    flags.add(Severity::stop, "code and file names", sheet.place,
              fmt::format("code '{}' cannot be part of a file name.", sheet.code),
              "Use letters, digits, - and _ only.");
  }
}

/// I and 1, O and 0 look alike on paper.
std::string as_it_looks(std::string code) {
  for (char& c : code) {
    if (c == 'I') c = '1';
    if (c == 'O') c = '0';
  }
  return code;
}

void check_codes_differ(const std::vector<Sheet>& sheets, Flags& flags) {
  std::map<std::string, const Sheet*> by_upper, by_look;
  for (const Sheet& sheet : sheets) {
    if (sheet.code.empty()) continue;
    const std::string upper = upper_ascii(sheet.code);
    const auto [same, fresh] = by_upper.emplace(upper, &sheet);
    if (!fresh) {
      const bool capitals = same->second->code != sheet.code;
      flags.add(Severity::stop, "duplicate code", sheet.place,
                fmt::format("code {} is also in {}{}.", sheet.code, same->second->file,
                            capitals ? fmt::format(", there as {}", same->second->code) : ""),
                "Give each species its own code.");
      continue;
    }
    const auto [alike, alone] = by_look.emplace(as_it_looks(upper), &sheet);
    if (alone) continue;
    flags.add(Severity::ask, "codes look alike", sheet.place,
              fmt::format("code {} looks like {} in {}: I and 1, O and 0 are one on paper.", sheet.code,
                          alike->second->code, alike->second->file),
              "Choose another code for one of them.");
  }
}

/// A code is short, upper case, without a blank; a plant's name is not.
bool looks_like_a_code(const std::string& text) {
  return text.size() >= 2 && text.size() <= 8 && std::all_of(text.begin(), text.end(), [](char c) {
           return (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
         });
}

void check_effort(const Season& season, const std::vector<std::string>& codes, Flags& flags) {
  const EffortSpec& effort = season.plan.effort;
  const auto check_known = [&](const std::string& code, const Place& place, const char* where) {
    if (std::find(codes.begin(), codes.end(), code) != codes.end()) return;
    const std::string nearest = nearest_word(code, codes);
    flags.add(Severity::stop, "unknown species", place,
              fmt::format("{} names {}, and no sheet has that code.", where, code),
              nearest.empty() ? fmt::format("The codes are {}.", in_words(codes))
                              : fmt::format("Did you mean {}?", nearest));
  };
  for (const std::string& code : effort.species) check_known(code, effort.place, "[effort] species");
  for (const auto& [code, counts] : effort.expected) check_known(code, counts.place, "[effort.expected]");
  const SampleSpec& sample = season.plan.sample;
  if (sample.total_from == TotalFrom::precision && !effort.precision)
    flags.add(Severity::stop, "how many plots", sample.place,
              "[sample] total = \"precision\", and [effort] asks for no precision.",
              "How wide may the limits be? Add [effort] with precision = 0.25.");
  if (sample.total_from == TotalFrom::hours && !effort.hours)
    flags.add(Severity::stop, "how many plots", sample.place,
              "[sample] total = \"hours\", and [effort] gives no hours.",
              "Add [effort] with hours = (person-hours there are), and a question it must answer.");
}

void check_look_alikes(const Sheet& sheet, const std::vector<std::string>& codes, Flags& flags) {
  for (const LookAlike& look_alike : sheet.look_alikes) {
    if (look_alike.of == sheet.code) {
      flags.add(Severity::ask, "own look-alike", look_alike.place,
                fmt::format("{} is named as its own look-alike.", sheet.code), "Name the other plant.");
    } else if (looks_like_a_code(look_alike.of) &&
               std::find(codes.begin(), codes.end(), look_alike.of) == codes.end()) {
      const std::string nearest = nearest_word(look_alike.of, codes);
      flags.add(Severity::ask, "unknown look-alike", look_alike.place,
                fmt::format("{}: look-alike {} is no species of this season.", sheet.code, look_alike.of),
                nearest.empty() ? "Write the plant's name, or add its sheet."
                                : fmt::format("Did you mean {}? Otherwise write the plant's name.", nearest));
    }
  }
}

void check_score_of(const Season& season, Flags& flags) {
  const StrataSpec& strata = season.plan.strata;
  if (std::find(strata.by.begin(), strata.by.end(), "score") == strata.by.end()) return;
  std::vector<std::string> scored;
  for (const Sheet& sheet : season.sheets) {
    if (sheet.scored && !sheet.code.empty()) scored.push_back(sheet.code);
  }
  // A sheet that lacks its code, or says scored = false beside its factors, has its own flag.
  const bool rules = std::any_of(season.sheets.begin(), season.sheets.end(),
                                 [](const Sheet& sheet) { return sheet.scored || !sheet.factors.empty(); });
  if (!rules && !season.sheets.empty()) {
    flags.add(Severity::stop, "nothing to score", strata.place,
              "[strata] by names score, but no species is scored.",
              "Take \"score\" out of by, or give a sheet its factors.");
    return;
  }
  const std::string& of = strata.score_of;
  if (of == "best" || of == "mean" || scored.empty() ||
      std::find(scored.begin(), scored.end(), of) != scored.end()) {
    return;
  }
  std::vector<std::string> choices = scored;
  choices.insert(choices.end(), {"best", "mean"});
  const std::string nearest = nearest_word(of, choices);
  flags.add(Severity::stop, "unknown species", strata.place,
            fmt::format("[strata] score_of = \"{}\" is no scored species.", of),
            nearest.empty() ? fmt::format("Write \"best\", \"mean\" or one of {}.", in_words(scored))
                            : fmt::format("Did you mean {}?", nearest));
}

/// A typing error in a species' code would leave that species out of the shares.
void check_spread_species(const Plan& plan, const std::vector<std::string>& codes, Flags& flags) {
  if (codes.empty()) return;
  for (const auto& [code, spread] : plan.sample.species_spread) {
    if (std::find(codes.begin(), codes.end(), code) != codes.end()) continue;
    const std::string nearest = nearest_word(code, codes);
    flags.add(Severity::stop, "unknown species", spread.place,
              fmt::format("[sample.spread.{}]: no species of this season is called {}.", code, code),
              nearest.empty() ? fmt::format("The species are {}.", in_words(codes))
                              : fmt::format("Did you mean {}?", nearest));
  }
}

}  // namespace

bool is_derived(std::string_view layer) { return layer == "slope" || layer == "aspect" || layer == "heat"; }

std::string unit_of(const Plan& plan, std::string_view layer) {
  if (const LayerSpec* spec = plan.layer(std::string(layer))) return spec->unit;
  if (layer == "slope" || layer == "aspect") return "degrees";
  return layer == "heat" ? "index" : "";
}

std::string with_unit(double value, std::string_view unit) {
  return unit.empty() || unit == "index" ? shortest(value) : fmt::format("{} {}", shortest(value), unit);
}

std::string layer_words(std::string_view layer) {
  std::string words(layer);
  std::replace(words.begin(), words.end(), '_', ' ');
  return words;
}

std::string spreadsheet_turns_into(std::string_view code) {
  const std::string upper = upper_ascii(code);
  if (upper == "TRUE" || upper == "FALSE") return "a truth value";
  const bool date = std::any_of(upper.begin(), upper.end(), [](char c) {
    return (c >= 'A' && c <= 'Z' && c != 'E') || c == '/' || c == ':';
  });
  const bool dashed = upper.find('-', 1) != std::string::npos && upper.find('E') == std::string::npos;
  return date || dashed ? "a date" : "a number";
}

void check_season(Season& season, Flags& flags) {
  std::vector<std::string> codes;
  for (const Sheet& sheet : season.sheets) codes.push_back(sheet.code);
  for (Sheet& sheet : season.sheets) {
    check_code(sheet, flags);
    for (const Factor& factor : sheet.factors) check_factor(season.plan, sheet, factor, flags);
    for (Mask& mask : sheet.masks) check_mask(season.plan, sheet, mask, flags);
    check_look_alikes(sheet, codes, flags);
  }
  check_codes_differ(season.sheets, flags);
  check_score_of(season, flags);
  check_effort(season, codes, flags);
  check_spread_species(season.plan, codes, flags);
  check_traits(season, flags);
  check_visits(season.plan, flags);
}

}  // namespace swardline
