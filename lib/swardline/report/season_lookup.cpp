// What the parts of the season's page look up, summed once.
#include <cpl_json.h>
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/estimate/rounding.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

constexpr const char* no_return = "no return";

std::vector<std::string> list_in(const CPLJSONObject& object, const char* key) {
  std::vector<std::string> items;
  const CPLJSONArray array = object.GetArray(key);
  if (!array.IsValid()) return items;
  for (int i = 0; i < array.Size(); ++i) items.push_back(array[i].ToString());
  return items;
}

void add_unit_to(SiteEffort& site, const EvaluatedUnit& unit) {
  if (unit.spare) {
    site.spares_in_use += unit.in_use ? 1 : 0;
    site.spares_counted += unit.in_use && unit.evaluated ? 1 : 0;
    return;
  }
  if (!unit.in_use) return;  // resting, or outside the survey area
  ++site.due;
  if (unit.evaluated) {
    ++site.counted;
  } else if (unit.fate == no_return) {
    ++site.outstanding;
  } else {
    ++site.not_counted;
    ++site.reasons[unit.fate];
  }
}

void add_to_sum(SiteEffort& all, const SiteEffort& site) {
  all.survey_m2 += site.survey_m2;
  all.due += site.due;
  all.counted += site.counted;
  all.not_counted += site.not_counted;
  all.outstanding += site.outstanding;
  for (const auto& [reason, plots] : site.reasons) all.reasons[reason] += plots;
  all.spares_in_use += site.spares_in_use;
  all.spares_counted += site.spares_counted;
  all.visits += site.visits;
  all.timed_visits += site.timed_visits;
  all.person_hours += site.person_hours;
}

}  // namespace

SeasonLookup::SeasonLookup(const SeasonFacts& of) : facts(of) {
  unit = facts.counted.unit == SampleUnit::transect ? "transects" : "plots";
  for (const Plot& each : facts.plots) plots_.emplace(each.name, &each);
  for (const Transect& each : facts.transects) plots_.emplace(each.unit.name, &each.unit);
  sum_effort();
  read_certificate();
  index_estimates();
}

void SeasonLookup::sum_effort() {
  std::map<std::string, std::size_t, std::less<>> number;
  for (const EvaluatedSite& site : facts.counted.sites) {
    number[site.code] = sites.size();
    SiteEffort& effort = sites.emplace_back();
    effort.site = site.code;
    effort.name = site.name;
    effort.survey_m2 = site.survey_m2;
  }
  std::map<std::string, std::size_t, std::less<>> site_of;
  for (const EvaluatedUnit& each : facts.counted.units) {
    const auto site = number.find(each.site);
    if (site == number.end()) continue;
    site_of[each.name] = site->second;
    add_unit_to(sites[site->second], each);
  }
  for (const VisitOnRecord& visit : facts.record.visits) {
    const auto site = site_of.find(visit.plot);
    if (site == site_of.end()) continue;
    SiteEffort& effort = sites[site->second];
    ++effort.visits;
    if (visit.minutes < 0) continue;
    ++effort.timed_visits;
    effort.person_hours += double(visit.minutes) * visit.people() / 60;
  }
  for (const SiteEffort& site : sites) add_to_sum(all, site);
  std::sort(sites.begin(), sites.end(), [](const auto& a, const auto& b) { return a.site < b.site; });
}

void SeasonLookup::read_certificate() {
  CPLJSONDocument document;
  if (facts.certificate.empty() || !document.LoadMemory(facts.certificate)) return;
  const CPLJSONObject root = document.GetRoot();
  draw.inputs = root.GetString("inputs");
  draw.inputs_of = root.GetString("inputs_of");
  draw.unit = root.GetString("unit");
  draw.estimator = root.GetObj("edge").GetString("estimator");
  draw.losses = list_in(root.GetObj("edge"), "losses");
  draw.allocation = list_in(root, "allocation");
  draw.methods = list_in(root, "methods");
  draw.routes = list_in(root, "routes");
  draw.shortfalls = list_in(root, "shortfalls");
  draw.record = list_in(root, "strata_of_record");
  const CPLJSONArray strata = root.GetArray("strata");
  for (int i = 0; strata.IsValid() && i < strata.Size(); ++i)
    draw.rules[strata[i].GetString("stratum")] = strata[i].GetString("rule");
}

void SeasonLookup::index_estimates() {
  if (facts.estimates == nullptr) return;
  std::map<std::pair<std::string, std::string>, std::size_t> at;
  for (const EstimateRow& row : facts.estimates->rows) {
    if (!row.stratum.empty() || row.beside || row.limits_kind == "symmetric") continue;
    const EstimateRow* FoundThere::*field = row.measure == "stems per ha"     ? &FoundThere::density
                                            : row.measure == "total stems"    ? &FoundThere::total
                                            : row.measure == "occupied share" ? &FoundThere::share
                                            : row.measure == "stems per ha, sure + not certain"
                                                ? &FoundThere::with_not_certain
                                                : nullptr;
    if (field == nullptr) continue;
    std::vector<FoundThere>& places = found_[row.species];
    const auto [place, first] = at.try_emplace({row.species, row.where}, places.size());
    if (first) places.emplace_back().where = row.where;
    // The first row of a measure leads.
    if (places[place->second].*field == nullptr) places[place->second].*field = &row;
  }
  for (auto& [species, places] : found_)
    std::erase_if(places, [](const FoundThere& place) { return place.density == nullptr; });
}

std::string SeasonLookup::units(int number) const {
  return grouped(number) + " " + (number == 1 ? unit.substr(0, unit.size() - 1) : unit);
}

std::string SeasonLookup::plain_name(const std::string& code) const {
  for (const Sheet& sheet : facts.season.sheets)
    if (sheet.code == code) {
      const std::string& name = sheet.common.empty() ? sheet.name : sheet.common;
      return name.empty() ? code : name;
    }
  return code;
}

std::string SeasonLookup::species_name(const std::string& code) const {
  const std::string name = plain_name(code);
  return name == code ? code : name + " (" + code + ")";
}

std::string SeasonLookup::place_name(const std::string& where) const {
  for (const SiteEffort& site : sites)
    if (site.site == where) return site.name.empty() || site.name == where ? where : where + " " + site.name;
  return where;
}

const Plot* SeasonLookup::plot(std::string_view name) const {
  const auto found = plots_.find(name);
  return found == plots_.end() ? nullptr : found->second;
}

const std::vector<FoundThere>& SeasonLookup::found(const std::string& species) const {
  static const std::vector<FoundThere> none;
  const auto places = found_.find(species);
  return places == found_.end() ? none : places->second;
}

bool nothing_found(const EstimateRow& row) { return row.value == 0; }

std::string said_value(const EstimateRow& row) {
  return row.value == 0 ? "0" : said_estimate(row.value, row.standard_error.value_or(0));
}

std::string said_limits(const EstimateRow& row) {
  if (!row.low || !row.high) return "–";
  if (row.limits_kind.starts_with("nothing found")) return "under " + said_multiple(*row.high);
  return said_limits(LowHigh{*row.low, *row.high}, row.limits_kind == "symmetric",
                     row.standard_error.value_or(0));
}

std::string of_all(int some, int all) { return grouped(some) + " of " + grouped(all); }

}  // namespace swardline
