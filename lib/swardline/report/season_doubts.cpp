// What is doubtful: flags, rules that look wrong, ground of which nothing is known.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/file_names.hpp"
#include "swardline/base/text.hpp"
#include "swardline/report/compare_sections.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

std::string corrections_in_words(const SeasonOnRecord& record) {
  if (record.corrections == 0) return "No correction was made.";
  return fmt::format("{} {} made by {} {}{}; what came stays as it came beside them.",
                     grouped(record.corrections),
                     record.corrections == 1 ? "correction was" : "corrections were",
                     grouped(record.corrected_by), record.corrected_by == 1 ? "person" : "people",
                     record.first_correction.empty() ? ""
                     : record.first_correction == record.last_correction
                         ? " on " + record.first_correction
                         : fmt::format(", {} to {}", record.first_correction, record.last_correction));
}

std::string joined_places(const SeasonLookup& season, const std::vector<std::string>& places) {
  constexpr std::size_t most_places = 12;
  std::vector<std::string> shown;
  for (const std::string& place : places)
    if (shown.size() < most_places && std::find(shown.begin(), shown.end(), place) == shown.end())
      shown.push_back(place);
  std::vector<std::string> each = places;
  std::sort(each.begin(), each.end());
  each.erase(std::unique(each.begin(), each.end()), each.end());
  if (shown.size() == 1) return season.place_name(shown.front());
  if (each.size() > shown.size())
    return fmt::format("{} and {} more", fmt::join(shown.begin(), shown.end(), ", "),
                       each.size() - shown.size());
  return swardline::in_words(shown);
}

/// Of all species by place; of one species over all sites alone, for its places are many.
HtmlTable missing_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = "Ground that could not be counted, taken to be like the rest of its stratum";
  table.sorts = true;
  table.on_paper = 14;
  table.rest_in = season.out_file("estimates.json", "estimate");
  table.columns = {{"Where", false},   {"Species", false},
                   {"Why", false},     {season.unit == "plots" ? "Plots" : "Transects", true},
                   {"Hectares", true}, {"Share of the ground", true}};
  for (const MissingGround& one : season.facts.estimates->missing)
    if (one.species.empty() || one.where == "all sites")
      table.rows.push_back({season.place_name(one.where), one.species.empty() ? "all" : one.species,
                            one.reason, grouped(one.plots), grouped_decimals(one.m2 * 1e-4, 2),
                            percent_text(one.share, one.share < 0.02 ? 1 : 0)});
  return table;
}

struct UnknownGround {
  std::vector<std::string> places;
  double m2 = 0;
};

/// A row a species and reason, with the sites; estimates.json tells it by stratum.
HtmlTable unknown_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = "Ground of which no estimate speaks";
  table.sorts = true;
  table.on_paper = 14;
  table.rest_in = season.out_file("estimates.json", "estimate");
  table.columns = {{"Species", false}, {"Why", false}, {"Where", false}, {"Hectares", true}};
  std::map<std::pair<std::string, std::string>, UnknownGround> sums;
  for (const NotEstimated& one : season.facts.estimates->not_estimated) {
    std::string fates;
    for (const auto& [fate, plots] : one.fates) fates += fmt::format("{}{}", fates.empty() ? "" : ", ", fate);
    // The reason tells how many plots of a stratum, and here strata are summed.
    UnknownGround& sum =
        sums[{one.species,
              fates.empty() ? one.reason : fmt::format("no {} counted ({})", season.one_unit(), fates)}];
    sum.places.push_back(one.where);
    sum.m2 += one.m2;
  }
  for (const auto& [key, sum] : sums)
    table.rows.push_back({key.first.empty() ? "all" : key.first, key.second,
                          joined_places(season, sum.places), grouped_decimals(sum.m2 * 1e-4, 2)});
  return table;
}

}  // namespace

std::string doubts_part(const SeasonLookup& season) {
  const SeasonOnRecord& record = season.facts.record;
  if (record.files.empty()) return {};
  HtmlTable table;
  table.caption = "Flags raised by the checks of what came back";
  table.sorts = true;
  table.columns = {{"Severity", false}, {"Check", false},    {"Raised", true},
                   {"Open", true},      {"Confirmed", true}, {"Said only", true}};
  FlagsOnRecord all;
  for (const FlagsOnRecord& flag : record.flags) {
    table.rows.push_back({flag.severity, flag.check, grouped(flag.open + flag.confirmed + flag.listed),
                          grouped(flag.open), grouped(flag.confirmed), grouped(flag.listed)});
    all.open += flag.open;
    all.confirmed += flag.confirmed;
    all.listed += flag.listed;
  }
  table.sums = {"All",
                "",
                grouped(all.open + all.confirmed + all.listed),
                grouped(all.open),
                grouped(all.confirmed),
                grouped(all.listed)};
  std::string out = html_paragraph(fmt::format(
      "{} {} came back. {} {}", grouped(std::int64_t(record.files.size())),
      record.files.size() == 1 ? "file" : "files", corrections_in_words(record),
      all.open == 0 ? "No question is open."
                    : fmt::format("{} open: their rows are kept out of every figure here, which is too "
                                  "low where they are finds.",
                                  all.open == 1 ? "1 question is" : grouped(all.open) + " questions are")));
  if (record.flags.empty()) return out + html_paragraph("The checks raised nothing.");
  return out +
         html_paragraph(
             "STOP: cannot be used until it is corrected. ASK: kept out until it is corrected or confirmed. "
             "NOTE: "
             "used, and said. A flag that a correction has answered is gone from the list.") +
         html_table(table);
}

std::string rules_part(const SeasonLookup& season) {
  const Comparison* comparison = season.facts.comparison;
  if (comparison == nullptr) {
    if (!season.any_counted()) return {};
    return html_paragraph("Counts were not held against scores: no species is scored.");
  }
  std::vector<std::string> how = {empty_good_habitat,
                                  "A score is a rule about habitat, not a chance of finding plants."};
  how.insert(how.end(), comparison->remarks.begin(), comparison->remarks.end());
  std::string out = html_list(how) + on_paper_note("Plots, score bands and factors of each species",
                                                   season.out_file("compare.html", "compare"));
  out += "<div class=\"rules\">\n";
  std::vector<std::string> codes;
  for (const SpeciesComparison& species : comparison->species) codes.push_back(species.code);
  const std::vector<std::string> ids = unique_file_names(codes);
  for (std::size_t i = 0; i < ids.size(); ++i) {
    const SpeciesComparison& species = comparison->species[i];
    int lows = 0, highs = 0;
    for (const MisfitGroup& group : species.false_lows) lows += int(group.plots.size());
    for (const MisfitGroup& group : species.false_highs) highs += int(group.plots.size());
    out += fmt::format("<div class=\"rule\"><h3>{}</h3>\n", xml_escape(season.species_name(species.code)));
    std::vector<std::string> sentences;
    for (const MisfitGroup& group : species.false_lows) sentences.push_back(group.sentence + ".");
    out += html_paragraph(fmt::format(
               "{} false {} (occupied, score below {:.2f}), {} false {} (empty, score {:.2f} or more).", lows,
               lows == 1 ? "low" : "lows", species.low, highs, highs == 1 ? "high" : "highs", species.high)) +
           html_list(sentences);
    SpeciesComparison in_words = species;
    in_words.cautions = season.with_strata_in_words(std::move(in_words.cautions));
    // Those with more than a stray plot are open.
    constexpr int more_than_stray = 3;
    out += fmt::format("<details{}><summary>{}: plots, bands and factors</summary>\n{}</details>\n</div>\n",
                       lows >= more_than_stray ? " open=\"open\"" : "", xml_escape(species.code),
                       compared_species(*comparison, season.facts.season, season.facts.counted, in_words,
                                        "rule-" + ids[i], 4));
  }
  return out + "</div>\n";
}

std::string not_estimated_part(const SeasonLookup& season) {
  if (!season.any_counted()) return {};
  const Estimates& estimates = *season.facts.estimates;
  std::string out;
  if (!estimates.not_estimated.empty()) out += html_table(unknown_table(season));
  // Of a season by parts of sites there may be rows for species at sites alone, which are too many here.
  if (const HtmlTable missing = missing_table(season); !missing.rows.empty()) out += html_table(missing);
  if (season.facts.comparison != nullptr && !season.facts.comparison->not_searched.empty())
    out += html_paragraph(fmt::format("No plot to hold against a score: {}.",
                                      swardline::in_words(season.facts.comparison->not_searched)));
  if (out.empty()) return html_paragraph("All ground of the strata is estimated.");
  return html_paragraph(
             "Ground that was refused, not reached or not countable is told by reason. Where all plots of a "
             "stratum "
             "were lost, nothing is said of it; where some were, the rest stands for them, which is right "
             "only if "
             "they were not lost because of the plants.") +
         out;
}

}  // namespace swardline
