// The season in five sentences: what a landowner or a board member reads.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_named = 6;

/// "a; b; and 3 more, below"
std::string named_first(std::vector<std::string> items, const char* between) {
  std::string out;
  const std::size_t all = items.size();
  for (std::size_t i = 0; i < std::min(all, most_named); ++i) out += (i > 0 ? between : "") + items[i];
  if (all > most_named) out += fmt::format("{}and {} more, below", between, all - most_named);
  return out;
}

std::string confidence_of(const SeasonLookup& season) {
  return fmt::format("{:.3g} %", 100 * season.facts.estimates->confidence);
}

std::string counted_sentence(const SeasonLookup& season) {
  const SiteEffort& all = season.all;
  const std::string where = fmt::format("{} {} ({})", grouped(std::int64_t(season.sites.size())),
                                        season.sites.size() == 1 ? "site" : "sites", hectares(all.survey_m2));
  const SeasonFacts& facts = season.facts;
  if (all.counted + all.not_counted + all.spares_in_use == 0)
    return fmt::format("{} are drawn at {}, and nothing has come back yet.", season.units(all.due), where);
  std::string out = fmt::format("{}{} of the {} due at {} were counted",
                                facts.counted.year > 0 ? fmt::format("In {}, ", facts.counted.year) : "",
                                grouped(all.counted), season.units(all.due), where);
  if (all.spares_counted > 0)
    out += fmt::format(", and {} {} in place of others", all.spares_counted,
                       all.spares_counted == 1 ? "spare" : "spares");
  if (all.not_counted > 0) out += fmt::format("; {} could not be", grouped(all.not_counted));
  if (all.outstanding > 0) out += fmt::format("; nothing has come back of {}", grouped(all.outstanding));
  return out + ".";
}

std::string found_sentence(const SeasonLookup& season) {
  if (!season.any_counted()) return "No count can be used yet, so nothing is said of plants.";
  std::vector<std::string> items;
  for (const std::string& code : season.facts.estimates->species)
    for (const FoundThere& place : season.found(code)) {
      if (place.where != "all sites" || nothing_found(*place.density)) continue;
      const EstimateRow& row = place.total != nullptr ? *place.total : *place.density;
      items.push_back(fmt::format("{} {}{} ({})", season.plain_name(code), said_value(row),
                                  place.total != nullptr ? "" : " a hectare", said_limits(row)));
    }
  if (items.empty()) return "None of the species was found on a plot that was counted.";
  return fmt::format("About this many flowering stems stood there, with {} limits: {}.",
                     confidence_of(season), named_first(items, "; "));
}

std::string nothing_sentence(const SeasonLookup& season) {
  if (!season.any_counted())
    return "What is drawn, where and with what chance is below; estimates come with the first counts.";
  std::vector<std::string> none;
  int places = 0;
  for (const std::string& code : season.facts.estimates->species) {
    for (const FoundThere& place : season.found(code)) {
      if (!nothing_found(*place.density)) continue;
      if (place.where != "all sites") {
        ++places;
        continue;
      }
      const EstimateRow& row = place.total != nullptr ? *place.total : *place.density;
      none.push_back(season.plain_name(code) +
                     (row.high ? fmt::format(" ({}{})", said_limits(row),
                                             place.total != nullptr ? " stems in all" : " a hectare")
                               : ""));
    }
  }
  if (none.empty() && places == 0)
    return "Every species that was looked for was found at every site where it was looked for.";
  if (none.empty())
    return fmt::format(
        "Every species that was looked for was found somewhere; at {} {} of a species and a site none was, "
        "which is not proof that there is none.",
        places, places == 1 ? "pair" : "pairs");
  return fmt::format("None found, which is not proof that there is none: {}.", named_first(none, "; "));
}

std::string change_sentence(const SeasonLookup& season) {
  const SeasonChange* change = season.facts.change;
  if (change == nullptr)
    return season.any_counted() ? "No earlier season is named, so nothing is said of change."
                                : "Nothing can be said of change yet.";
  // Clear ones first; of those that are not, the plain word once.
  std::map<ChangeWord, std::vector<std::string>> names;
  for (const ChangeEstimate& estimate : change->estimates)
    if (estimate.where == "all sites" && estimate.stratum.empty() && !estimate.with_not_certain)
      names[estimate.change].push_back(season.plain_name(estimate.species));
  std::vector<std::string> items;
  for (const ChangeWord each :
       {ChangeWord::fewer, ChangeWord::more, ChangeWord::no_clear_change, ChangeWord::not_known})
    if (const auto of = names.find(each); of != names.end())
      items.push_back(fmt::format("{}: {}", word(each),
                                  of->second.size() > most_named
                                      ? fmt::format("{} species", of->second.size())
                                      : swardline::in_words(of->second)));
  if (items.empty())
    return fmt::format("No plot was counted in {} and {} alike, so nothing is said of change.",
                       change->earlier_year, change->later_year);
  return fmt::format("Since {}, on the same plots: {}.", change->earlier_year, named_first(items, "; "));
}

std::string doubt_sentence(const SeasonLookup& season) {
  const SeasonFacts& facts = season.facts;
  std::vector<std::string> items;
  int open = 0;
  for (const FlagsOnRecord& flag : facts.record.flags) open += flag.open;
  if (open > 0)
    items.push_back(
        open == 1 ? "1 question about what came back is open and its rows are kept out"
                  : fmt::format("{} questions about what came back are open and their rows are kept out",
                                grouped(open)));
  if (facts.estimates != nullptr) {
    double unknown_m2 = 0, like_rest_m2 = 0;
    for (const NotEstimated& one : facts.estimates->not_estimated)
      if (one.species.empty()) unknown_m2 += one.m2;
    for (const MissingGround& one : facts.estimates->missing)
      if (one.species.empty() && one.where == "all sites") like_rest_m2 += one.m2;
    if (unknown_m2 > 0) items.push_back(fmt::format("no estimate speaks of {}", hectares(unknown_m2)));
    if (like_rest_m2 > 0)
      items.push_back(
          fmt::format("{} that could not be counted are taken to be like the rest", hectares(like_rest_m2)));
  }
  if (facts.comparison != nullptr) {
    std::vector<std::string> codes;
    for (const SpeciesComparison& species : facts.comparison->species)
      if (!species.false_lows.empty()) codes.push_back(species.code);
    if (!codes.empty())
      items.push_back(fmt::format(
          "plants of {} stood where the habitat rules did not expect them",
          codes.size() > 3 ? fmt::format("{} species", codes.size()) : swardline::in_words(codes)));
  }
  if (items.empty()) return "Nothing is left open that is known of.";
  return "To keep in mind: " + named_first(items, "; ") + ".";
}

}  // namespace

std::vector<std::string> season_in_sentences(const SeasonLookup& season) {
  return {counted_sentence(season), found_sentence(season), nothing_sentence(season), change_sentence(season),
          doubt_sentence(season)};
}

std::string in_short_part(const SeasonLookup& season) {
  std::string out = "<ol class=\"short-of-it\">\n";
  for (const std::string& sentence : season_in_sentences(season))
    out += "<li>" + xml_escape(sentence) + "</li>\n";
  return out + "</ol>\n";
}

}  // namespace swardline
