#include "swardline/report/compare_page.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/file_names.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/report/compare_sections.hpp"
#include "swardline/report/factor_chart.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"

namespace swardline {
namespace {

/// All that the parts of one species' section read.
struct PageFacts {
  const Comparison& comparison;
  const Season& season;
  const EvaluatedSeason& counted;
  const SpeciesComparison& species;
  std::string id;  ///< for links
  int level = 3;   ///< of headings
  [[nodiscard]] std::string heading(const std::string& text) const {
    return fmt::format("<h{0}>{1}</h{0}>\n", level, xml_escape(text));
  }
  [[nodiscard]] const Sheet& sheet() const { return season.sheets[species.sheet]; }
  [[nodiscard]] const EvaluatedUnit& unit(const PlotAndScore& plot) const {
    return counted.units[comparison.plots[plot.plot].unit];
  }
  [[nodiscard]] std::string confidence() const {
    return shortest(std::round(1000 * comparison.confidence) / 10) + " %";
  }
};

constexpr std::size_t most_rows = 40;  // of a group: the page is for a meeting, the table holds all

std::string density(double per_ha) {
  if (!std::isfinite(per_ha)) return "–";
  return grouped_decimals(per_ha, per_ha > 0 && per_ha < 10 ? 1 : 0);
}

std::string limits_text(const ComparedPart& part) {
  if (part.plots == 0) return "–";
  if (!part.limits) return part.limits_kind;
  if (part.occupied == 0) return "under " + density(part.limits->high);
  return density(part.limits->low) + "–" + density(part.limits->high);
}

std::string score(double value) { return std::isfinite(value) ? fmt::format("{:.2f}", value) : "–"; }

std::string groups(const PageFacts& facts, const std::vector<MisfitGroup>& misfits, bool low) {
  std::string out;
  for (const MisfitGroup& group : misfits) {
    HtmlTable table;
    table.caption = group.sentence;
    table.columns = {
        {"plot", false}, {"stems", true}, {"score", true}, {"site", false}, {"held down by", false}};
    if (low) table.columns.insert(table.columns.end(), {{"best raised by", false}, {"to", true}});
    table.columns.insert(table.columns.end(),
                         {{"mean over the plot", true}, {"within the fix's accuracy", true}});
    if (facts.species.effect) table.columns.push_back({"proposed", true});
    for (const Misfit& one : group.plots) {
      if (table.rows.size() == most_rows) break;
      const PlotAndScore& plot = facts.species.plots[one.plot];
      const auto factor = [&](const std::optional<std::size_t>& f) {
        return f ? facts.sheet().factors[*f].layer : std::string("nothing");
      };
      std::vector<std::string> row = {facts.unit(plot).name, grouped_decimals(plot.stems, 0),
                                      score(plot.score), facts.unit(plot).site, factor(plot.held_down_by)};
      if (low) row.insert(row.end(), {factor(one.raised_by), score(one.raised_to)});
      row.insert(row.end(), {score(plot.over_plot), score(plot.over_fix)});
      if (facts.species.effect) row.push_back(score(plot.score_then));
      table.rows.push_back(std::move(row));
    }
    out += html_table(table);
    if (group.plots.size() > most_rows)
      out += html_paragraph(fmt::format("And {} more, in compare-plots.csv.",
                                        grouped(std::int64_t(group.plots.size() - most_rows))));
    if (!group.remedy.empty()) out += html_paragraph(group.remedy);
  }
  return out;
}

std::string misfits_part(const PageFacts& facts) {
  const SpeciesComparison& species = facts.species;
  std::string out = facts.heading(fmt::format("False lows: occupied, score below {}", score(species.low)));
  out += species.false_lows.empty() ? html_paragraph("None.") : groups(facts, species.false_lows, true);
  out += facts.heading(fmt::format("False highs: empty, score {} or more", score(species.high)));
  return out +
         (species.false_highs.empty() ? html_paragraph("None.") : groups(facts, species.false_highs, false));
}

std::string effect_part(const PageFacts& facts) {
  if (!facts.species.effect) return {};
  const ProposedEffect& effect = *facts.species.effect;
  std::string out = facts.heading("Tried: " + (effect.change.empty() ? "nothing changes" : effect.change));
  out += html_list(effect.sentences);
  HtmlTable table;
  table.caption = "Score bands now and by the proposed sheet";
  table.columns = {{"score", false}, {"plots now", true},    {"then", true}, {"occupied now", true},
                   {"then", true},   {"stems/ha now", true}, {"then", true}};
  for (std::size_t i = 0; i < effect.bands.size(); ++i) {
    const ComparedPart &now = facts.species.bands.parts[i], &then = effect.bands[i];
    table.rows.push_back({now.what, std::to_string(now.plots), std::to_string(then.plots),
                          std::to_string(now.occupied), std::to_string(then.occupied), density(now.per_ha),
                          density(then.per_ha)});
  }
  out += html_table(table);
  return out + html_list(effect.cautions);
}

std::string upper_words(const Comparison& comparison) {
  return fmt::format("{:.0f} % of plots are denser", 100 * (1 - comparison.quantile));
}

ChartPart chart_part(const ComparedPart& part) {
  ChartPart out;
  out.label = part.what;
  out.from = part.from;
  out.to = part.to;
  out.seen = std::isfinite(part.per_ha) ? part.per_ha : 0;
  out.limited = part.limits.has_value();
  if (part.limits) {
    out.low = part.limits->low;
    out.high = part.limits->high;
  }
  out.plots = part.plots;
  out.occupied = part.occupied;
  out.response = part.response;
  out.upper = std::isfinite(part.upper_per_ha) ? part.upper_per_ha : 0;
  return out;
}

std::vector<std::string> part_row(const ComparedPart& part) {
  std::vector<std::string> row = {part.what, std::to_string(part.plots), std::to_string(part.occupied)};
  row.push_back(part.share_limits ? fmt::format("{} ({:.0f}–{:.0f})", percent_text(part.share, 0),
                                                100 * part.share_limits->low, 100 * part.share_limits->high)
                                  : "–");
  row.insert(row.end(), {part.plots > 0 ? density(part.per_ha) : "–", limits_text(part),
                         part.plots > 0 ? density(part.upper_per_ha) : "–"});
  return row;
}

std::string bands_part(const PageFacts& facts) {
  const ComparedBands& bands = facts.species.bands;
  FactorChart chart;
  chart.id = facts.id + "-bands";
  chart.title = fmt::format("{}: stems per hectare by score band", facts.species.code);
  chart.axis = "score; below it, occupied of all plots";
  chart.upper_words = upper_words(facts.comparison);
  for (const ComparedPart& part : bands.parts) chart.parts.push_back(chart_part(part));
  HtmlTable table;
  table.caption = fmt::format(
      "By score, weighted by the ground that plots stand for; limits of {}, and where nothing was "
      "found an upper limit of 95 % alone",
      facts.confidence());
  table.columns = {{"score", false},
                   {"plots", true},
                   {"occupied", true},
                   {"occupied share, %", true},
                   {"stems/ha", true},
                   {"limits", true},
                   {fmt::format("{:.0f} % denser than", 100 * (1 - facts.comparison.quantile)), true}};
  for (const ComparedPart& part : bands.parts) table.rows.push_back(part_row(part));
  for (const ComparedPart* part : {&bands.excluded, &bands.no_score})
    if (part->plots > 0) table.rows.push_back(part_row(*part));
  return facts.heading("By score") + "<figure>" + svg_factor_chart(chart) + "</figure>\n" +
         html_table(table) + html_list(bands.joined);
}

std::string factor_row(const PageFacts& facts, const FactorAlong& factor) {
  FactorChart chart;
  chart.id = fmt::format("{}-factor-{}", facts.id, factor.factor);
  chart.title = fmt::format("{}: stems per hectare along {}, beside the rule's response", facts.species.code,
                            factor.layer);
  const std::string unit = factor.unit == "percent" ? "%" : factor.unit == "index" ? "" : factor.unit;
  chart.axis = factor.layer + (unit.empty() ? "" : ", " + unit) + "; below it, occupied of all plots";
  chart.upper_words = upper_words(facts.comparison);
  chart.classes = factor.classes;
  for (std::size_t i = 0; i < factor.parts.size(); ++i) {
    chart.parts.push_back(chart_part(factor.parts[i]));
    if (!factor.classes) continue;
    chart.parts.back().from = double(i);
    chart.parts.back().to = double(i + 1);
  }
  chart.response = factor.response;
  if (factor.upper && !factor.parts.empty())
    for (const auto& [value, response] : factor.response)
      if (value >= factor.parts.front().from && value <= factor.parts.back().to)
        chart.upper.emplace_back(value, std::max(0.0, factor.upper->at(response)));
  return "<figure>" + html_paragraph(factor.sentence) + svg_factor_chart(chart) + "</figure>\n";
}

std::string factors_part(const PageFacts& facts) {
  std::string out = facts.heading("Along each factor");
  for (const FactorAlong& factor : facts.species.factors) out += factor_row(facts, factor);
  return out;
}

std::string list_part(const PageFacts& facts, const std::string& title,
                      const std::vector<std::string>& lines) {
  return lines.empty() ? std::string() : facts.heading(title) + html_list(lines);
}

}  // namespace

std::string compared_species(const Comparison& comparison, const Season& season,
                             const EvaluatedSeason& counted, const SpeciesComparison& species,
                             const std::string& id, int level) {
  const PageFacts facts{comparison, season, counted, species, id, level};
  std::string out =
      html_paragraph(fmt::format("{}, sheet version {}: {} plots compared, {} of them occupied.",
                                 species.name, species.version, grouped(species.compared), species.occupied));
  return out + list_part(facts, "Take care", species.cautions) + misfits_part(facts) + effect_part(facts) +
         bands_part(facts) + factors_part(facts) + list_part(facts, "Agreement", species.indices) +
         list_part(facts, "Kept apart", species.apart);
}

std::string compare_methods() {
  return html_terms(
      {{"occupied", "at least one stem recorded as sure"},
       {"stems/ha",
        "ratio of totals weighted by the ground that plots stand for, as a domain of all plots (Cochran "
        "1977, 5A.14 and "
        "6.11); log-based limits with Satterthwaite's degrees of freedom"},
       {"none found", "the most there may be if plants are scattered at random; more if they are clumped"},
       {"occupied share",
        "weighted share, Wilson's limits (1927) with as many plots as the weights are worth (Kish 1965)"},
       {"area under the ROC curve", "ties counted half; Hanley & McNeil 1982"},
       {"continuous ratio index", "moving window; Hirzel et al. 2006"},
       {"rank correlation",
        "Spearman's, of weighted mid-ranks; limits after Fieller, Hartley & Pearson 1957"},
       {"upper edge",
        "linear quantile regression of density on the rule's response, exact (Koenker & Bassett 1978; Cade & "
        "Noon 2003), drawn along the factor's value"}});
}

std::string compare_page(const Comparison& comparison, const Season& season, const EvaluatedSeason& counted) {
  std::vector<PageSection> sections;
  std::vector<std::string> codes;
  for (const SpeciesComparison& species : comparison.species) codes.push_back(species.code);
  const std::vector<std::string> ids = unique_file_names(codes);
  std::vector<std::string> how = comparison.remarks;
  how.insert(how.begin(), empty_good_habitat);
  how.emplace_back("A score is a rule about habitat, not a chance of finding plants.");
  how.emplace_back("This page holds plot names and what was found there: share it as the plots themselves.");
  sections.push_back({"read-first", "Read first", html_list(how)});
  for (std::size_t i = 0; i < comparison.species.size(); ++i) {
    const SpeciesComparison& species = comparison.species[i];
    const std::string id = "species-" + ids[i];
    sections.push_back({id, species.code, compared_species(comparison, season, counted, species, id, 3)});
  }
  sections.push_back({"methods", "Methods", compare_methods()});
  return html_page(
      {season.plan.name + ": counts beside scores",
       "Where rules and plants disagree, and which factor is to blame. Nothing here changes a sheet."},
      sections);
}

void write_compare_page(const Comparison& comparison, const Season& season, const EvaluatedSeason& counted,
                        const std::filesystem::path& file) {
  write_whole(file, compare_page(comparison, season, counted));
}

}  // namespace swardline
