// Where the season was surveyed and why: a map, the strata and the plots of each site.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/habitat/score_season.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/map_drawing.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_map.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

// All maps together, so that a page of many sites still opens quickly.
constexpr int cells_of_all_maps = 200'000, most_cells_of_a_map = 10'000, least_cells_of_a_map = 1'200;

std::string score_heading_of(const std::string& score_of) {
  if (score_of == "best") return "Ground by the best score of the species";
  if (score_of == "mean") return "Ground by the mean score of the species";
  return "Ground by the score of " + score_of;
}

bool anything_found(const EvaluatedUnit& unit) {
  return std::any_of(unit.counts.begin(), unit.counts.end(), [](const UnitCount& count) {
    return count.searched && count.sure + count.not_certain > 0;
  });
}

MarkKind kind_of(const EvaluatedUnit& unit) {
  if (unit.evaluated) return anything_found(unit) ? MarkKind::found : MarkKind::none_found;
  if (!unit.in_use)
    return unit.fate == "resting"                   ? MarkKind::resting
           : unit.spare && unit.fate == "no return" ? MarkKind::spare
                                                    : MarkKind::not_in_use;
  return unit.fate == "no return" ? MarkKind::no_return : MarkKind::not_counted;
}

/// A unit of a site with the id of its record.
struct UnitOnMap {
  const EvaluatedUnit* unit = nullptr;
  const Plot* plot = nullptr;  ///< as drawn; none where the store has lost it
  std::string record;
  MarkKind kind = MarkKind::spare;
};

struct SiteOnPage {
  const Site* site = nullptr;
  const SiteEffort* effort = nullptr;
  std::string id;
  std::vector<UnitOnMap> units;  ///< as walked, then by name
};

std::vector<SiteOnPage> sites_on_page(const SeasonLookup& season) {
  std::vector<SiteOnPage> all;
  std::map<std::string, std::size_t, std::less<>> number;
  for (const Site& site : season.facts.sites.sites) {
    const auto effort = std::find_if(season.sites.begin(), season.sites.end(),
                                     [&](const SiteEffort& each) { return each.site == site.code; });
    if (site.survey.empty() || effort == season.sites.end()) continue;
    number[site.code] = all.size();
    all.push_back({&site, &*effort, fmt::format("site{}", all.size() + 1), {}});
  }
  const auto& units = season.facts.counted.units;
  for (std::size_t i = 0; i < units.size(); ++i)
    if (const auto site = number.find(units[i].site); site != number.end())
      all[site->second].units.push_back(
          {&units[i], season.plot(units[i].name), fmt::format("r{}", i + 1), kind_of(units[i])});
  for (SiteOnPage& site : all)
    std::stable_sort(site.units.begin(), site.units.end(), [](const UnitOnMap& a, const UnitOnMap& b) {
      const auto key = [](const UnitOnMap& of) {
        const int walk = of.plot != nullptr ? of.plot->walk : 0;
        return std::tuple(walk > 0 ? walk : 1'000'000, of.unit->name);
      };
      return key(a) < key(b);
    });
  return all;
}

// "12 counted, 2 not (1 unsafe, 1 not countable (mown)), 1 outstanding"
std::string fates_in_words(const SiteEffort& effort) {
  std::vector<std::string> parts;
  if (effort.counted > 0 || effort.due == 0) parts.push_back(fmt::format("{} counted", effort.counted));
  if (effort.not_counted > 0) {
    std::vector<std::string> reasons;
    for (const auto& [reason, plots] : effort.reasons) reasons.push_back(fmt::format("{} {}", plots, reason));
    parts.push_back(fmt::format("{} not counted ({})", effort.not_counted, swardline::in_words(reasons)));
  }
  if (effort.outstanding > 0)
    parts.push_back(effort.outstanding == effort.due
                        ? std::string("nothing has come back")
                        : fmt::format("nothing has come back of {}", effort.outstanding));
  if (effort.spares_in_use > 0)
    parts.push_back(
        fmt::format("{} {} in use", effort.spares_in_use, effort.spares_in_use == 1 ? "spare" : "spares"));
  return swardline::in_words(parts);
}

// Species found at the site, those on most plots first.
std::string finds_in_words(const SeasonLookup& season, const SiteOnPage& site) {
  const auto& codes = season.facts.counted.species;
  std::vector<std::pair<int, std::string>> finds;
  bool any = false;
  for (std::size_t s = 0; s < codes.size(); ++s) {
    int plots = 0;
    for (const UnitOnMap& each : site.units) {
      if (!each.unit->evaluated || s >= each.unit->counts.size() || !each.unit->counts[s].searched) continue;
      any = true;
      plots += each.unit->counts[s].sure > 0 ? 1 : 0;
    }
    if (plots > 0) finds.emplace_back(-plots, codes[s]);
  }
  if (!any) return {};
  if (finds.empty()) return " None of the species was found.";
  std::sort(finds.begin(), finds.end());
  std::vector<std::string> words;
  for (const auto& [plots, code] : finds) words.push_back(fmt::format("{} on {}", code, -plots));
  return fmt::format(" Found: {}.", swardline::in_words(words));
}

std::string message_of(const SeasonLookup& season, const SiteOnPage& site) {
  return fmt::format("{} surveyed, {} due: {}.{}", hectares(site.site->survey_m2),
                     season.units(site.effort->due), fates_in_words(*site.effort),
                     finds_in_words(season, site));
}

std::string stems_text(const UnitCount& count) {
  if (!count.searched) return "";
  std::string text = shortest(count.sure);
  if (count.not_certain > 0) text += fmt::format(" + {} not certain", shortest(count.not_certain));
  return text;
}

HtmlTable records_of(const SeasonLookup& season, const SiteOnPage& site) {
  HtmlTable table;
  table.caption = fmt::format("{} of {}", season.unit == "plots" ? "Plots" : "Transects", site.site->code);
  table.sorts = true;
  table.columns = {{season.unit == "plots" ? "Plot" : "Transect", false},
                   {"Stratum", false},
                   {"Score", true},
                   {"Held down by", false},
                   {"Status", false}};
  // Only species that anyone looked for here.
  std::vector<std::size_t> species;
  for (std::size_t s = 0; s < season.facts.counted.species.size(); ++s)
    if (std::any_of(site.units.begin(), site.units.end(), [s](const UnitOnMap& each) {
          return each.unit->evaluated && s < each.unit->counts.size() && each.unit->counts[s].searched;
        }))
      species.push_back(s);
  for (const std::size_t s : species)
    table.columns.push_back({season.facts.counted.species[s] + ", stems", true});
  for (const UnitOnMap& each : site.units) {
    std::string status = each.unit->fate;
    if (!each.unit->why.empty() && each.unit->why != status) status = each.unit->why;
    if (each.kind == MarkKind::spare) status = "spare, not used";
    if (each.kind == MarkKind::no_return) status = "nothing came back";
    std::vector<std::string> row = {
        each.unit->name, season.stratum_ground(each.unit->stratum),
        each.plot != nullptr && each.plot->score ? fmt::format("{:.2f}", *each.plot->score) : "",
        each.plot != nullptr ? each.plot->held_down_by : "", status};
    for (const std::size_t s : species)
      row.push_back(each.unit->evaluated && s < each.unit->counts.size() ? stems_text(each.unit->counts[s])
                                                                         : std::string());
    table.rows.push_back(std::move(row));
    table.row_ids.push_back(each.record);
  }
  return table;
}

SeasonMap map_of(const SeasonLookup& season, const SiteOnPage& site) {
  const SeasonFacts& facts = season.facts;
  SeasonMap map{*site.site,
                site.id,
                fmt::format("Map of {} {}: {}", site.site->code, site.site->name, message_of(season, site)),
                facts.layers.grid(),
                facts.season.plan.strata.bands.size() + 1,
                0,
                {},
                {},
                facts.season.plan.sample.reach_m()};
  for (const UnitOnMap& each : site.units)
    map.marks.push_back({each.unit->name, each.kind, each.unit->east, each.unit->north, each.record});
  for (const Transect& transect : facts.transects)
    if (transect.unit.site == site.site->code && !transect.unit.spare) map.transects.push_back(&transect);
  return map;
}

std::vector<std::string> drawings_of(const SeasonLookup& season, const std::vector<SiteOnPage>& sites) {
  const SeasonFacts& facts = season.facts;
  std::vector<std::string> drawings(sites.size());
  const int cells = std::clamp(cells_of_all_maps / std::max(1, int(sites.size())), least_cells_of_a_map,
                               most_cells_of_a_map);
  const Crs crs = Crs::from_text(facts.season.plan.crs, facts.season.plan.crs_place);
  in_runs(sites.size(), facts.threads, [&](int, std::size_t begin, std::size_t end) {
    const Route to_wgs84(crs, Crs::wgs84());
    MapCellReader reader(facts.season, facts.layers, facts.model);
    for (std::size_t i = begin; i < end; ++i) {
      SeasonMap map = map_of(season, sites[i]);
      const Box box = sites[i].site->drawn.box();
      map.convergence_deg = drawn_convergence_deg({(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2}, to_wgs84);
      drawings[i] = svg_season_map(
          map, [&reader](const Window& window, int most) { return reader.read(window, most); }, cells);
    }
  });
  return drawings;
}

HtmlTable strata_table(const SeasonLookup& season) {
  HtmlTable table;
  table.caption = "Strata: ground of one kind, and the " + season.unit + " that speak for it";
  table.sorts = true;
  table.on_paper = 12;
  table.rest_in = season.out_file("certificate.json");
  table.columns = {{"Site", false},   {"Its ground", false}, {"Hectares", true},
                   {"Planned", true}, {"Counted", true},     {"Hectares for each counted", true}};
  std::map<std::string, int> counted;
  for (const EvaluatedUnit& unit : season.facts.counted.units)
    if (unit.in_use && unit.evaluated) ++counted[unit.stratum];
  double ground = 0;
  int planned = 0, all_counted = 0;
  for (const EvaluatedStratum& stratum : season.facts.counted.strata) {
    const int done = counted[stratum.id];
    table.rows.push_back({stratum.site.empty() ? "several sites" : season.place_name(stratum.site),
                          season.stratum_ground(stratum.id), grouped_decimals(stratum.area_m2 * 1e-4, 2),
                          grouped(stratum.planned), grouped(done),
                          done > 0 ? grouped_decimals(stratum.area_m2 * 1e-4 / done, 2) : "–"});
    ground += stratum.area_m2;
    planned += stratum.planned;
    all_counted += done;
  }
  table.sums = {"All", "", grouped_decimals(ground * 1e-4, 2), grouped(planned), grouped(all_counted), ""};
  return table;
}

std::string why_there(const SeasonLookup& season) {
  const StrataSpec& strata = season.facts.season.plan.strata;
  std::vector<std::string> by = strata.by;
  for (std::string& each : by)
    if (each == "score")
      each = fmt::format("score ({})", strata.score_of == "best"   ? "the best of the species"
                                       : strata.score_of == "mean" ? "their mean"
                                                                   : strata.score_of);
  return html_paragraph(fmt::format(
             "{} lie where chance put them, so that what is found on them speaks for all of the ground. "
             "Ground was first parted into strata by {}; each has {} of its own, drawn with a known "
             "chance{}. A "
             "score says what the rules think of the habitat, not where plants are.",
             season.unit == "plots" ? "Plots" : "Transects", swardline::in_words(by), season.unit,
             season.draw.unit.empty() ? "" : fmt::format(" ({})", season.draw.unit))) +
         (season.draw.allocation.empty()
              ? std::string()
              : "<details><summary>How they were shared out</summary>\n" +
                    html_list(season.with_strata_in_words(season.draw.allocation)) + "</details>\n" +
                    on_paper_note("How they were shared out", season.out_file("certificate.json")));
}

}  // namespace

std::string surveyed_part(const SeasonLookup& season) {
  const std::vector<SiteOnPage> sites = sites_on_page(season);
  const std::vector<std::string> drawings = drawings_of(season, sites);
  std::set<MarkKind> kinds;
  for (const SiteOnPage& site : sites)
    for (const UnitOnMap& unit : site.units) kinds.insert(unit.kind);
  const StrataSpec& strata = season.facts.season.plan.strata;
  std::string out = why_there(season);
  out += "<figure>" +
         svg_season_legend(strata.bands, score_heading_of(strata.score_of), {kinds.begin(), kinds.end()},
                           season.unit == "plots" ? "Plots" : "Transects, at their starts") +
         "</figure>\n<div class=\"sites\">\n";
  for (std::size_t i = 0; i < sites.size(); ++i)
    out += fmt::format(
        "<figure class=\"site\" aria-labelledby=\"{0}-head\">\n<figcaption><h3 id=\"{0}-head\">{1}</h3>\n"
        "<p>{2}</p></figcaption>\n<div class=\"drawn\">{3}</div>\n<details><summary>{4} of {5} as a table: "
        "{6}</summary>\n{7}</details>\n</figure>\n",
        sites[i].id, xml_escape(sites[i].site->code + " " + sites[i].site->name),
        xml_escape(message_of(season, sites[i])), drawings[i], season.unit == "plots" ? "Plots" : "Transects",
        xml_escape(sites[i].site->code), sites[i].units.size(), html_table(records_of(season, sites[i])));
  out += "</div>\n" +
         on_paper_note(fmt::format("What became of each {}, and its record",
                                   season.unit == "plots" ? "plot" : "transect"),
                       season.store_name()) +
         "<h3>Strata</h3>\n" + html_table(strata_table(season));
  if (!season.draw.shortfalls.empty())
    out += html_paragraph("What the draw could not give:") +
           html_list(season.with_strata_in_words(season.draw.shortfalls));
  return out;
}

}  // namespace swardline
