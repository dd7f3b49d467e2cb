// What the parts of the season's page look up, summed once.
#include <cpl_json.h>
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/estimate/rounding.hpp"
#include "swardline/report/page.hpp"
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

/// "score 0.50–0.75", "cover GL", "no score" of a part of a stratum's identity.
std::string part_in_words(const std::string& part) {
  const auto equals = part.find('=');
  const std::string key = part.substr(0, equals);
  if (equals == part.npos) return part == "no-score" ? "no score" : part;
  const std::string value = part.substr(equals + 1);
  const auto hyphen = value.find('-');
  const auto percent = [](const std::string& text) {
    return !text.empty() && text.size() <= 3 && text.find_first_not_of("0123456789") == text.npos;
  };
  if (key != "score" || hyphen == value.npos || !percent(value.substr(0, hyphen)) ||
      !percent(value.substr(hyphen + 1)))
    return key + " " + value;
  return fmt::format("score {:.2f}–{:.2f}", std::stoi(value.substr(0, hyphen)) / 100.0,
                     std::stoi(value.substr(hyphen + 1)) / 100.0);
}

std::string without_version(const std::string& id) {
  const auto version = id.rfind("|v");
  return version == id.npos ? id : id.substr(0, version);
}

/// "QPR score 0.50–0.75" of "QPR|score=50-75".
std::string id_in_words(const std::string& id) {
  std::string out;
  for (std::size_t from = 0; from <= id.size();) {
    const std::size_t end = std::min(id.find('|', from), id.size());
    if (end > from) out += (out.empty() ? "" : " ") + part_in_words(id.substr(from, end - from));
    from = end + 1;
  }
  return out;
}

}  // namespace

SeasonLookup::SeasonLookup(const SeasonFacts& of) : facts(of) {
  unit = facts.counted.unit == SampleUnit::transect ? "transects" : "plots";
  for (const Plot& each : facts.plots) plots_.emplace(each.name, &each);
  for (const Transect& each : facts.transects) plots_.emplace(each.unit.name, &each.unit);
  sum_effort();
  read_certificate();
  name_strata();
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
  for (int i = 0; strata.IsValid() && i < strata.Size(); ++i) {
    const std::string id = strata[i].GetString("stratum");
    draw.rules[id] = strata[i].GetString("rule");
    draw.versions[id] = strata[i].GetInteger("version", 1);
  }
}

// Ground that joined a site later has strata of its own, by the same rule.
void SeasonLookup::name_strata() {
  std::map<std::pair<std::string, std::string>, std::vector<std::pair<int, std::string>>> alike;
  for (const EvaluatedStratum& stratum : facts.counted.strata) {
    const auto rule = draw.rules.find(stratum.id);
    const auto version = draw.versions.find(stratum.id);
    const std::string spoken = without_version(stratum.id);
    const bool of_site = !stratum.site.empty() && spoken.starts_with(stratum.site + "|");
    const std::string ground = rule != draw.rules.end() && !rule->second.empty()
                                   ? rule->second
                                   : id_in_words(of_site ? spoken.substr(stratum.site.size() + 1) : spoken);
    alike[{stratum.site, ground}].emplace_back(version == draw.versions.end() ? 1 : version->second,
                                               stratum.id);
    if (spoken.find('|') != spoken.npos) ids_[stratum.id] = ids_[spoken] = id_in_words(spoken);
  }
  for (auto& [place_and_ground, strata] : alike) {
    const std::string& ground = place_and_ground.second;
    std::sort(strata.begin(), strata.end());
    for (std::size_t i = 0; i < strata.size(); ++i) {
      const auto& [version, id] = strata[i];
      strata_[id] = i == 0 ? ground
                    : version > strata[i - 1].first
                        ? fmt::format("{}: ground that joined the site later (version {})", ground, version)
                        : fmt::format("{} ({})", ground, id);
    }
  }
}

const std::string& SeasonLookup::stratum_ground(const std::string& id) const {
  const auto found = strata_.find(id);
  return found == strata_.end() ? id : found->second;
}

// Longer identities come first: one may begin with another.
std::vector<std::string> SeasonLookup::with_strata_in_words(std::vector<std::string> texts) const {
  for (std::string& text : texts)
    for (const auto& [id, words] : ids_)
      for (std::size_t at = text.find(id); at != text.npos; at = text.find(id, at + words.size()))
        text.replace(at, id.size(), words);
  return texts;
}

std::string SeasonLookup::out_file(const char* name, const char* made_by) const {
  const std::string file = (facts.season.plan.out.filename() / name).string();
  return made_by == nullptr ? file : fmt::format("{}, which {} writes", file, made_by);
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
  return grouped(number) + " " + (number == 1 ? one_unit() : unit);
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

// Of a database the name is left out: it may tell how to get in.
std::string SeasonLookup::store_name() const {
  const std::string& store = facts.season.plan.store;
  return store.starts_with("PG:") ? "the season's store" : std::filesystem::path(store).filename().string();
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

namespace {

double step_of_row(const EstimateRow& row) {
  return row.low && row.high ? step_beside_limits(row.value, {*row.low, *row.high}) : 0;
}

}  // namespace

std::string said_value(const EstimateRow& row) {
  if (row.value == 0) return "0";
  const double step = step_of_row(row);
  return step > 0 ? in_steps(row.value, step) : said_estimate(row.value, 0);
}

std::string said_limits(const EstimateRow& row) {
  if (!row.low || !row.high) return "–";
  if (row.limits_kind.starts_with("nothing found")) return "under " + said_multiple(*row.high);
  const double step = step_of_row(row);
  return in_steps(*row.low, step) + (*row.low < 0 ? " to " : "–") + in_steps(*row.high, step);
}

std::string with_sign_in(double value, double step) {
  const std::string said = in_steps(value, step);
  return value > 0 && said.find_first_of("123456789") != std::string::npos ? "+" + said : said;
}

std::string notes_by_place(const std::vector<std::pair<std::string, std::string>>& notes) {
  std::vector<std::pair<std::string, std::vector<std::string>>> by_text;
  for (const auto& [place, text] : notes) {
    const auto same = std::find_if(by_text.begin(), by_text.end(),
                                   [&t = text](const auto& known) { return known.first == t; });
    if (same == by_text.end())
      by_text.push_back({text, {place}});
    else if (std::find(same->second.begin(), same->second.end(), place) == same->second.end())
      same->second.push_back(place);
  }
  std::vector<std::string> lines;
  for (const auto& [text, places] : by_text)
    lines.push_back(fmt::format("{}: {}.", swardline::in_words(places), text));
  return html_list(lines, true);
}

std::string of_all(int some, int all) { return grouped(some) + " of " + grouped(all); }

}  // namespace swardline
