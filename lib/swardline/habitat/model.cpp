#include "swardline/habitat/model.hpp"

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/habitat/model_parts.hpp"

namespace swardline {
namespace {

double response_to(const Response& response, double value) {
  if (const auto* trapezoid = std::get_if<Trapezoid>(&response)) return respond(*trapezoid, value);
  return respond(std::get<Polyline>(response), value);
}

/// Compiles one sheet against the layers; nothing when a STOP was found.
class SheetCompiler {
 public:
  SheetCompiler(const Sheet& sheet, const Plan& season, const std::vector<LayerInfo>& infos, Flags& flags)
      : sheet_(sheet), season_(season), infos_(infos), flags_(flags), plan_(sheet) {
    species_.code = sheet.code;
    species_.categories.push_back({HeldDown::Kind::nothing, "nothing"});
  }

  bool compile(Model::Inside& model) {
    bool sound = !sheet_.factors.empty();
    if (!sound)
      stop("no factors", sheet_.place, sheet_.code + " has no factor to score by.",
           "Give it factors, or set scored = false.");
    for (const Factor& factor : sheet_.factors) sound = check(factor) && sound;
    for (const Mask& mask : sheet_.masks) sound = check(mask) && sound;
    if (!sound) return false;
    name_factors();
    for (std::size_t f = 0; f < sheet_.factors.size(); ++f)
      plan_.factors.push_back(column(sheet_.factors[f]));
    for (const Mask& mask : sheet_.masks) plan_.masks.push_back(column(mask));
    name_missing();
    if (species_.categories.size() > 255) {
      stop("too many reasons", sheet_.place,
           sheet_.code + " has " + grouped(std::int64_t(species_.categories.size())) +
               " factors, excluded classes and layers together; its map can name 255.",
           "Merge classes.");
      return false;
    }
    model.species.push_back(std::move(species_));
    model.plans.push_back(std::move(plan_));
    return true;
  }

 private:
  // The season's reader may have stopped at the same line for the same reason already.
  void stop(const char* check, const Place& place, const std::string& meaning, const std::string& remedy) {
    for (const Flag& flag : flags_.all())
      if (flag.severity == Severity::stop && place.line > 0 && flag.place.file == place.file &&
          flag.place.line == place.line)
        return;
    flags_.add(Severity::stop, check, place, meaning, remedy);
  }
  [[nodiscard]] std::optional<std::size_t> slot(const std::string& layer) const {
    for (std::size_t i = 0; i < infos_.size(); ++i)
      if (infos_[i].name == layer) return i;
    return {};
  }
  [[nodiscard]] bool in_plan(const std::string& layer) const {
    if (season_.layer(layer) != nullptr) return true;
    const bool derived = layer == "slope" || layer == "aspect" || layer == "heat";
    return derived && season_.layer("elevation") != nullptr;
  }
  bool given(const std::string& layer, const Place& place, const char* where) {
    if (slot(layer)) return true;
    if (in_plan(layer)) {
      // Given, but not opened. Opening it has said why, and that is the finding.
      if (!flags_.stopped())
        stop("layer not opened", place,
             layer + " is in the " + where + " and its layer could not be opened. " + sheet_.code +
                 " is not scored.",
             "Mend the layer's file.");
      return false;
    }
    stop("layer not given", place,
         layer + " is in the " + where + " but no " + layer + " layer was given. " + sheet_.code +
             " is not scored.",
         "Add [layers." + layer + "] to the plan, or take it out of the sheet.");
    return false;
  }

  bool check(const Factor& factor) {
    if (!given(factor.layer, factor.place, "rule")) return false;
    const LayerInfo& info = infos_[*slot(factor.layer)];
    const auto* table = std::get_if<ClassTable>(&factor.response);
    if ((table != nullptr) != (info.kind == LayerKind::classes)) {
      stop("layer of the other kind", factor.place,
           factor.layer + (table ? " is a measure but " : " is a class layer but ") + sheet_.code +
               (table ? " gives it class scores." : " gives it a response to numbers."),
           table ? "Name its classes in the plan, or give a trapezoid or points."
                 : "Give it scores by class.");
      return false;
    }
    if (!table || table->otherwise) return true;
    std::vector<std::string> unlisted;
    for (const auto& [value, code] : info.classes)
      if (!table->scores.contains(code) && !table->excluded.contains(code) &&
          std::find(unlisted.begin(), unlisted.end(), code) == unlisted.end())
        unlisted.push_back(code);
    if (unlisted.empty()) return true;
    stop("class without a score", factor.place,
         in_words(unlisted) + " of " + factor.layer + (unlisted.size() == 1 ? " has" : " have") +
             " no score in " + sheet_.code + ".",
         "List them under scores or excluded, or give otherwise.");
    return false;
  }

  bool check(const Mask& mask) {
    if (!given(mask.layer, mask.place, "mask")) return false;
    if (infos_[*slot(mask.layer)].kind == LayerKind::measure) return true;
    stop("layer of the other kind", mask.place,
         mask.layer + " is a class layer: it cannot be kept below or above a number.",
         "Use excluded classes.");
    return false;
  }

  void name_factors() {
    for (const Factor& factor : sheet_.factors) {
      const auto same = std::count_if(sheet_.factors.begin(), sheet_.factors.end(),
                                      [&](const Factor& other) { return other.layer == factor.layer; });
      const bool tell_group = same > 1 && !factor.group.empty();
      species_.categories.push_back(
          {HeldDown::Kind::factor, factor.layer + (tell_group ? " (" + factor.group + ")" : "")});
    }
  }

  std::uint8_t category(HeldDown::Kind kind, const std::string& text) {
    auto& all = species_.categories;
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const HeldDown& c) { return c.kind == kind && c.text == text; });
    const auto index = found - all.begin();
    if (found == all.end()) all.push_back({kind, text});
    return std::uint8_t(index);
  }
  std::uint8_t exclusion(const std::string& reason) {
    return category(HeldDown::Kind::excluded, "excluded: " + reason);
  }

  FactorColumn column(const Factor& factor) {
    FactorColumn out;
    out.slot = *slot(factor.layer);
    const LayerInfo& info = infos_[out.slot];
    out.bytes = info.bytes;
    out.limiting = factor.role == Role::limiting;
    out.must_have = must_have(factor);
    out.weight = factor.weight;
    if (!out.limiting) out.floor = floor_of(factor);
    out.response = factor.response;
    out.response_of.fill(no_value);
    if (const auto* table = std::get_if<ClassTable>(&factor.response)) {
      for (const auto& [raw, code] : info.classes) {
        ClassValue value{double(raw), no_value, 0};
        if (table->excluded.contains(code)) {
          value.response = 0;
          value.excluded = exclusion(exclusion_reason(factor, code));
        } else {
          const auto found = table->scores.find(code);
          value.response = found != table->scores.end() ? found->second : *table->otherwise;
        }
        out.classes.push_back(value);
        if (info.bytes && raw >= 0 && raw <= 255 && !info.byte_none[std::size_t(raw)]) {
          out.response_of[std::size_t(raw)] = value.response;
          out.excluded_of[std::size_t(raw)] = value.excluded;
        }
      }
    } else if (info.bytes) {
      for (std::size_t raw = 0; raw < 256; ++raw)
        if (!info.byte_none[raw])
          out.response_of[raw] = response_to(factor.response, info.value(double(raw)));
    }
    if (!out.must_have) plan_.may_lack.push_back(out.slot);
    return out;
  }

  [[nodiscard]] std::optional<double> floor_of(const Factor& factor) const {
    if (factor.group.empty()) return sheet_.combine.floor;
    for (const Group& group : sheet_.groups)
      if (group.name == factor.group) return group.combine.floor;
    return {};
  }

  MaskColumn column(const Mask& mask) {
    MaskColumn out;
    out.slot = *slot(mask.layer);
    const LayerInfo& info = infos_[out.slot];
    out.bytes = info.bytes;
    out.mask = mask;
    for (std::size_t raw = 0; raw < 256; ++raw)
      out.state_of[raw] = info.byte_none[raw]                         ? MaskState::none
                          : masked_out(mask, info.value(double(raw))) ? MaskState::out
                                                                      : MaskState::keep;
    out.excluded = exclusion(exclusion_reason(mask));
    return out;
  }

  // A modifying factor can only be the reason for "no score" where nothing else has data.
  void name_missing() {
    const bool always_something =
        sheet_.groups.empty() && std::any_of(plan_.factors.begin(), plan_.factors.end(),
                                             [](const FactorColumn& f) { return f.must_have; });
    const auto no_data = [this](std::size_t slot) {
      return category(HeldDown::Kind::no_score, "no data: " + infos_[slot].name);
    };
    for (FactorColumn& factor : plan_.factors)
      if (factor.must_have || !always_something) factor.missing = no_data(factor.slot);
    for (MaskColumn& mask : plan_.masks) mask.missing = no_data(mask.slot);
  }

  const Sheet& sheet_;
  const Plan& season_;
  const std::vector<LayerInfo>& infos_;
  Flags& flags_;
  SpeciesPlan plan_;
  ScoredSpecies species_;
};

}  // namespace

std::vector<std::string> layers_needed(const Season& season) {
  std::vector<std::string> names;
  for (const Sheet& sheet : season.sheets) {
    if (!sheet.scored) continue;
    for (const std::string& name : layers_of(sheet))
      if (std::find(names.begin(), names.end(), name) == names.end()) names.push_back(name);
  }
  return names;
}

Model Model::compile(const Season& season, const Layers& layers, Flags& flags) {
  auto inside = std::make_shared<Inside>();
  for (const std::string& name : swardline::layers_needed(season))
    if (const auto index = layers.index(name)) {
      inside->needed.push_back(*index);
      inside->infos.push_back(layers.infos()[*index]);
    }
  for (const Sheet& sheet : season.sheets)
    if (sheet.scored) SheetCompiler(sheet, season.plan, inside->infos, flags).compile(*inside);
  group_species(*inside);
  Model model;
  model.inside_ = std::move(inside);
  return model;
}

const std::vector<ScoredSpecies>& Model::species() const { return inside_->species; }
const std::vector<std::size_t>& Model::layers_needed() const { return inside_->needed; }

}  // namespace swardline
