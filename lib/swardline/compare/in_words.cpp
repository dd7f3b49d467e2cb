// A comparison for a terminal.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/compare/compare_parts.hpp"

namespace swardline {
namespace {

std::string names_of(const MisfitGroup& group, const SpeciesComparison& species, const Comparison& comparison,
                     const EvaluatedSeason& counted) {
  std::vector<std::string> names;
  for (const Misfit& one : group.plots) {
    const PlotAndScore& plot = species.plots[one.plot];
    std::string name = counted.units[comparison.plots[plot.plot].unit].name;
    if (plot.occupied()) name += fmt::format(" ({})", counted_words(int(std::lround(plot.stems)), "stem"));
    names.push_back(std::move(name));
  }
  return some_names(names);
}

void add_misfits(std::string& text, const std::vector<MisfitGroup>& groups, const char* heading,
                 const SpeciesComparison& species, const Comparison& comparison,
                 const EvaluatedSeason& counted) {
  text += fmt::format("  {}\n", heading);
  if (groups.empty()) text += "    none\n";
  for (const MisfitGroup& group : groups) {
    text += fmt::format("    {}: {}\n", group.sentence, names_of(group, species, comparison, counted));
    if (!group.remedy.empty()) text += fmt::format("      {}\n", group.remedy);
  }
}

std::string limits_text(const ComparedPart& part) {
  if (!part.limits) return part.limits_kind;
  if (part.occupied == 0) return "under " + figures(part.limits->high);
  return figures(part.limits->low) + "–" + figures(part.limits->high);
}

std::string share_text(const ComparedPart& part) {
  if (!part.share_limits) return "–";
  return fmt::format("{:.0f} % ({:.0f}–{:.0f})", 100 * part.share, 100 * part.share_limits->low,
                     100 * part.share_limits->high);
}

void add_row(std::string& text, const ComparedPart& part, const ComparedPart* then) {
  text += fmt::format("    {:<11}{:>7}{:>10}{:>18}{:>12}{:>22}", part.what, part.plots, part.occupied,
                      share_text(part), part.plots > 0 ? figures(part.per_ha) : "–",
                      part.plots > 0 ? limits_text(part) : "–");
  if (then != nullptr)
    text += fmt::format("{:>13}{:>11}", then->plots, then->plots > 0 ? figures(then->per_ha) : "–");
  text += "\n";
}

void add_bands(std::string& text, const SpeciesComparison& species, double confidence) {
  const bool tried = species.effect.has_value();
  const auto none = [](const ComparedPart& part) { return part.plots > 0 && part.occupied == 0; };
  const bool any = std::any_of(species.bands.parts.begin(), species.bands.parts.end(), none) ||
                   none(species.bands.excluded) || none(species.bands.no_score);
  text += fmt::format(
      "  By score, weighted by the ground that plots stand for; limits of {} %{}\n", percent_word(confidence),
      any ? fmt::format(" (under: none found, {} %, one-sided)", percent_word((1 + confidence) / 2))
          : std::string());
  text += fmt::format("    {:<11}{:>7}{:>10}{:>18}{:>12}{:>22}", "score", "plots", "occupied",
                      "occupied share", "stems/ha", "limits");
  text += tried ? fmt::format("{:>13}{:>11}\n", "plots then", "stems/ha") : "\n";
  for (std::size_t i = 0; i < species.bands.parts.size(); ++i)
    add_row(text, species.bands.parts[i], tried ? &species.effect->bands[i] : nullptr);
  if (species.bands.excluded.plots > 0) add_row(text, species.bands.excluded, nullptr);
  if (species.bands.no_score.plots > 0) add_row(text, species.bands.no_score, nullptr);
  for (const std::string& joined : species.bands.joined) text += "    " + joined + "\n";
}

void add_list(std::string& text, const char* heading, const std::vector<std::string>& lines) {
  if (lines.empty()) return;
  text += fmt::format("  {}\n", heading);
  for (const std::string& line : lines) text += "    " + line + "\n";
}

void add_species(std::string& text, const SpeciesComparison& species, const Comparison& comparison,
                 const EvaluatedSeason& counted) {
  text +=
      fmt::format("\n{} {}, sheet version {}: {} compared, {} of them occupied\n", species.code, species.name,
                  species.version, counted_words(species.compared, "plot"), species.occupied);
  add_misfits(text, species.false_lows,
              fmt::format("False lows: occupied, score below {}", score_text(species.low)).c_str(), species,
              comparison, counted);
  add_misfits(text, species.false_highs,
              fmt::format("False highs: empty, score {} or more", score_text(species.high)).c_str(), species,
              comparison, counted);
  if (species.effect) {
    add_list(
        text,
        ("Tried: " + (species.effect->change.empty() ? "nothing changes" : species.effect->change)).c_str(),
        species.effect->sentences);
    add_list(text, "Before it is used", species.effect->cautions);
  }
  add_bands(text, species, comparison.confidence);
  std::vector<std::string> factors;
  for (const FactorAlong& factor : species.factors) factors.push_back(factor.sentence);
  add_list(text, "Along each factor", factors);
  add_list(text, "Agreement", species.indices);
  add_list(text, "Kept apart", species.apart);
  add_list(text, "Take care", species.cautions);
}

}  // namespace

std::string in_words(const Comparison& comparison, const Season& season, const EvaluatedSeason& counted) {
  std::string text = fmt::format("{}: counts beside scores\n", season.plan.name);
  for (const SpeciesComparison& species : comparison.species) add_species(text, species, comparison, counted);
  text += "\n";
  for (const SpeciesComparison& species : comparison.species)
    if (!species.false_highs.empty()) {
      text += std::string(empty_good_habitat) + "\n";
      break;
    }
  for (const std::string& remark : comparison.remarks) text += remark + "\n";
  text += "A score is a rule about habitat, not a chance of finding plants.\n";
  return text;
}

}  // namespace swardline
