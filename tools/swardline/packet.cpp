#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>
#include <set>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "returned.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/strata.hpp"
#include "swardline/field/site_sheet.hpp"
#include "swardline/field/teams.hpp"
#include "swardline/field/verge_words.hpp"
#include "swardline/report/identification_card.hpp"
#include "swardline/report/packet_files.hpp"
#include "swardline/report/sheet_page.hpp"
#include "swardline/returns/observers.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {
namespace {

struct PacketOptions {
  Common common;
  std::vector<std::string> sites;
  bool card = false, training = false;
  std::string today;
};

/// All that sheets and cards are made from.
struct PacketSeason {
  Flags flags;
  Season season;
  Crs crs = Crs::wgs84();
  std::vector<Plot> plots;
  std::vector<Transect> transects;
  std::map<std::string, NamedArea> survey;  ///< as drawn, by code
  Sites sites;
  Access access;
  std::vector<SiteSpecies> species;           ///< of every site
  std::map<std::string, SiteWays> ways;       ///< of every site with plots, by code
  std::map<std::string, GroundSlope> slopes;  ///< by plot
  SeasonVisits visits;
  int year = 0;
  std::string version;
};

std::map<std::string, std::vector<std::string>> classes_for_cautions(const PacketSeason& at, Flags& flags) {
  std::set<std::string> layers;
  for (const CautionSpec& caution : at.season.plan.cautions)
    for (const auto& [layer, codes] : caution.classes) layers.insert(layer);
  if (layers.empty()) return {};
  const Layers open = Layers::open(at.season.plan, at.crs, {layers.begin(), layers.end()}, flags);
  flags.throw_if_stopped();
  return classes_at_plots(open, at.plots, at.transects);
}

/// A site drawn anew since the draw has another outline on the sheet than in the plan: somebody should know.
void ask_about_redrawn(PacketSeason& at) {
  if (!at.season.plan.blocks.chosen.empty()) return;
  for (const Site& site : at.sites.sites) {
    const auto drawn = at.survey.find(site.code);
    if (drawn == at.survey.end()) continue;
    const double before = drawn->second.area.area(), now = site.survey.area();
    if (std::abs(before - now) > 1 + 1e-6 * before)
      at.flags.add(
          Severity::ask, "site changed since the draw", site.place,
          fmt::format("{}: {:.0f} m² were surveyed when the plots were drawn, and the plan's sources "
                      "give {:.0f} m² now. Sheets show the outline of the draw.",
                      site.code, before, now),
          "Draw again, or put the site back as it was.");
  }
}

/// Without panels nothing else tells which season it is.
void ask_about_year(PacketSeason& at, Day today) {
  const Plan& plan = at.season.plan;
  if (!plan.visits.year || (plan.panels.given && plan.panels.year > 0)) return;
  if (std::abs(at.year - year_of(today)) > 1)
    at.flags.add(Severity::ask, "year of the visits", plan.visits.place,
                 fmt::format("[visits] year is {}, and today is in {}.", at.year, year_of(today)),
                 "Write the season's year, or take it out.");
}

/// No visit is made for them, and nobody would miss them.
void note_species_without_visit(PacketSeason& at) {
  std::set<std::size_t> named;
  for (const SiteSpecies& site : at.species)
    for (const LikelySpecies& one : site.likely) named.insert(one.sheet);
  std::vector<std::string> without;
  Place first;
  for (std::size_t i = 0; i < at.season.sheets.size(); ++i) {
    const Sheet& sheet = at.season.sheets[i];
    if (sheet.scored || named.contains(i)) continue;
    if (without.empty()) first = sheet.place;
    without.push_back(sheet.code);
  }
  if (!without.empty())
    at.flags.add(
        Severity::note, "species without a visit", first,
        fmt::format("{} monitored without a rule: no score looks for {}, so no visit and no form does.",
                    swardline::in_words(without) + (without.size() == 1 ? " is" : " are"),
                    without.size() == 1 ? "it" : "them"),
        "Name the sites where to look under [returns.search], if somebody is to.");
}

/// A warning must not hang on a slip of the pen.
void check_sites_of_plants(const PacketSeason& at, const std::set<std::string>& codes, Flags& flags) {
  if (!at.season.plan.sites.only.empty()) return;
  const std::vector<std::string> known(codes.begin(), codes.end());
  for (const OtherPlant& plant : at.season.traits.plants)
    for (const std::string& code : plant.sites) {
      if (codes.contains(code)) continue;
      const std::string near = nearest_word(code, known);
      flags.add(Severity::stop, "unknown site", plant.place,
                fmt::format("{} is said to stand at {}, and no site has that code.", plant.name, code),
                near.empty() ? fmt::format("There are {}.", some_of(known, 12))
                             : fmt::format("Did you mean {}?", near));
    }
}

/// From the plan's heights, where it has any that can be read. What is to be said of their file the draw has
/// said.
std::map<std::string, GroundSlope> slopes_of(const PacketSeason& at) {
  const std::vector<std::string> needed = layers_for_slopes(at.season.plan);
  if (needed.empty()) return {};
  Flags said;
  const Layers open = Layers::open(at.season.plan, at.crs, needed, said);
  return said.stopped() ? std::map<std::string, GroundSlope>{} : ground_slopes(open, at.plots);
}

/// The ways of every site, and questions about plots that nobody can walk to.
void find_ways(PacketSeason& at, int threads) {
  std::vector<SiteWays> found(at.species.size());
  in_runs(at.species.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    for (std::size_t i = begin; i < end; ++i) {
      const std::string& code = at.species[i].site;
      const auto site = std::find_if(at.sites.sites.begin(), at.sites.sites.end(),
                                     [&](const Site& one) { return one.code == code; });
      const auto area = at.survey.find(code);
      found[i] =
          site_ways(at.access, site == at.sites.sites.end() ? nullptr : &*site,
                    area == at.survey.end() ? Geometry() : area->second.area, code, at.plots, at.transects);
    }
  });
  for (std::size_t i = 0; i < found.size(); ++i) {
    mark_reached(found[i], at.species[i].site, at.plots);
    at.ways.emplace(at.species[i].site, std::move(found[i]));
  }
  check_reached(at.plots, at.access, at.flags);
}

PacketSeason open_packet(const PacketOptions& options, std::optional<FolderLock>& lock) {
  PacketSeason at;
  at.season = read_season(options.common.plan, at.flags);
  at.flags.throw_if_stopped();
  const Plan& plan = at.season.plan;
  lock.emplace(plan.folder);
  at.crs = Crs::from_text(plan.crs, plan.crs_place);
  const Day today = today_of(options.today);
  Expected expected = read_expected(at.season, at.crs, today, at.flags);
  expected.observers = read_observers(at.season, at.flags);
  const Store store(plan.store);
  at.plots = store.read_plots();
  at.transects = store.read_transects();
  for (const NamedArea& area : store.read_survey_areas()) at.survey.emplace(area.code, area);
  at.sites = read_sites(plan, at.crs, at.flags, threads_of(options.common));
  at.access = read_access(plan, at.crs, at.sites, at.flags);
  at.flags.throw_if_stopped();
  ask_about_redrawn(at);
  at.species = site_species_of(at.season, expected, at.plots, at.transects, at.sites,
                               classes_for_cautions(at, at.flags));
  find_ways(at, threads_of(options.common));
  at.slopes = slopes_of(at);
  note_species_without_visit(at);
  at.year = season_year(plan, today);
  ask_about_year(at, today);
  std::set<std::string> codes;
  for (const auto& [code, area] : at.survey) codes.insert(code);
  check_named_sites(plan, codes, at.species, at.flags);
  check_sites_of_plants(at, codes, at.flags);
  at.visits = plan_visits(at.season, at.species, teams_of(plan, expected.observers), at.year, at.flags);
  at.flags.throw_if_stopped();
  at.version = draw_version(store.finished_of_last("draw").value_or("undated"),
                            store.inputs_of_last("draw").value_or(""));
  return at;
}

void check_asked_sites(const PacketSeason& at, const std::vector<std::string>& asked) {
  std::vector<std::string> codes;
  for (const SiteSpecies& site : at.species) codes.push_back(site.site);
  for (const std::string& code : asked) {
    if (std::find(codes.begin(), codes.end(), code) != codes.end()) continue;
    const std::string near = nearest_word(code, codes);
    throw Error(Status::command_line, {}, fmt::format("--site {}: no site of this code has plots.", code),
                near.empty() ? fmt::format("Its sites are {}.", some_of(codes))
                             : fmt::format("Did you mean {}?", near));
  }
}

bool wanted(const PacketOptions& options, const std::string& code) {
  return options.sites.empty() ||
         std::find(options.sites.begin(), options.sites.end(), code) != options.sites.end();
}

/// Sheets of one site, and what found no room on them.
struct MadePages {
  SitePages pages;
  Flags flags;
};

void ask_about_left_out(const SiteSpecies& site, const Visit& visit, const SheetVisit& said, Flags& flags) {
  for (const std::string& text : cautions_left_out(said))
    flags.add(Severity::ask, "caution without room", {site.site, 0, {}},
              fmt::format("visit {}: a caution finds no room on the sheets: \"{}\". They say that there is "
                          "more to ask for.",
                          visit.number, text.size() > 60 ? fmt::format("{:.60}…", text) : text),
              "Say the cautions of this site in fewer words, or tell the team yourself.");
}

/// Sheets of one site, all visits.
MadePages pages_of(const PacketSeason& at, const SiteSpecies& site, const Route& to_wgs84,
                   const Declination& declination) {
  const Plan& plan = at.season.plan;
  MadePages made;
  SitePages& pages = made.pages;
  pages = {site.site, site.name, {}};
  const auto area = at.survey.find(site.site);
  SheetGround ground{plan, to_wgs84,           area == at.survey.end() ? Geometry() : area->second.area,
                     {},   at.access.barriers, at.access.crossings,
                     {}};
  const Verge* verge = nullptr;
  for (const Site& one : at.sites.sites) {
    if (one.code != site.site) continue;
    ground.excluded = one.excluded;
    verge = one.verge ? &*one.verge : nullptr;
  }
  const Point middle =
      to_wgs84.forward(ground.survey.empty() ? Point{at.plots.front().east, at.plots.front().north}
                                             : ground.survey.box().middle());
  ground.declination_deg = declination.at(middle.y, middle.x);
  const std::string words = declination_words(declination, middle.y, middle.x);
  std::vector<std::unique_ptr<std::pair<SiteWalk, SheetVisit>>> kept;  // sheets point to them
  std::vector<SiteSheet> sheets;
  for (const Visit& visit : at.visits.visits) {
    if (visit.site != site.site) continue;
    SheetVisit said =
        sheet_visit({at.season, at.visits.assignments, at.year, at.version}, site, visit, words);
    ask_about_left_out(site, visit, said, made.flags);
    std::vector<std::string> codes;
    for (const SheetSpecies& species : said.species) codes.push_back(species.code);
    const SiteWays& ways = at.ways.at(site.site);
    SiteWalk walk = site_walk({plan, to_wgs84, declination, verge, &at.slopes}, site.site, site.name,
                              at.plots, at.transects, ways, codes);
    said.steep = walk.steep();
    if (verge != nullptr) said.along = line_words(*verge, ways, to_wgs84);
    kept.push_back(std::make_unique<std::pair<SiteWalk, SheetVisit>>(std::move(walk), std::move(said)));
    for (const SiteSheet& sheet : sheets_of(kept.back()->first, kept.back()->second)) sheets.push_back(sheet);
  }
  for (std::size_t i = 0; i < sheets.size(); ++i)
    pages.sheets.push_back(sheet_markup(sheets[i], ground, i + 1, sheets.size()));
  return made;
}

std::vector<SitePages> all_pages(const PacketOptions& options, const PacketSeason& at, Flags& flags) {
  std::vector<const SiteSpecies*> sites;
  for (const SiteSpecies& site : at.species)
    if (wanted(options, site.site)) sites.push_back(&site);
  std::vector<MadePages> made(sites.size());
  in_runs(sites.size(), threads_of(options.common), [&](int, std::size_t begin, std::size_t end) {
    const Route to_wgs84(at.crs, Crs::wgs84());
    const Declination declination(at.season.plan.declination);
    for (std::size_t i = begin; i < end; ++i) made[i] = pages_of(at, *sites[i], to_wgs84, declination);
  });
  std::vector<SitePages> pages;
  for (MadePages& one : made) {
    for (const Flag& flag : one.flags.all()) flags.add(flag);
    if (!one.pages.sheets.empty()) pages.push_back(std::move(one.pages));
  }
  return pages;
}

void write_sheets(const PacketOptions& options, PacketSeason& at, CPLJSONObject& json) {
  const Plan& plan = at.season.plan;
  const std::vector<SitePages> pages = all_pages(options, at, at.flags);
  std::vector<std::string> codes;
  for (const SiteSpecies& site : at.species) codes.push_back(site.site);
  const PacketWritten written =
      write_packet(plan.out / "packet", plan.name, pages, codes,
                   options.sites.empty() ? PacketOf::season : PacketOf::sites, threads_of(options.common));
  std::size_t sheets = 0;
  for (const SitePages& one : pages) {
    sheets += one.sheets.size();
    say(options.common, fmt::format("  {:<10} {:>3} {}", one.code, one.sheets.size(),
                                    one.sheets.size() == 1 ? "sheet" : "sheets"));
  }
  if (written.removed > 0)
    say(options.common, fmt::format("Removed {} of an earlier packet.",
                                    counted_words(std::size_t(written.removed), "page", "pages")));
  say(options.common,
      fmt::format("{} of {} in {}: print them with margins of 10 mm on A4 or US Letter, at full size.",
                  counted_words(sheets, "sheet", "sheets"), counted_words(pages.size(), "site", "sites"),
                  (plan.out / "packet").string()));
  if (!options.sites.empty())
    say(options.common, "all.html and the other sites' pages were left as they are.");
  CPLJSONArray files;
  for (const auto& file : written.files) files.Add(file.string());
  json.Add("files", files);
  json.Add("sheets", GInt64(sheets));
  json.Add("removed", written.removed);
}

void write_cards(const PacketOptions& options, const PacketSeason& at, CPLJSONObject& json) {
  const Plan& plan = at.season.plan;
  std::vector<SiteSpecies> sites;
  for (const SiteSpecies& site : at.species)
    if (wanted(options, site.site)) sites.push_back(site);
  std::vector<Visit> visits;
  for (const Visit& visit : at.visits.visits)
    if (wanted(options, visit.site)) visits.push_back(visit);
  const std::vector<Card> cards =
      options.training ? training_cards(at.season) : identification_cards(at.season, sites, visits, at.year);
  const std::filesystem::path file = plan.out / "packet" / "cards.html";
  make_folder(file.parent_path());
  write_whole(file,
              cards_page(at.season, cards,
                         (options.training ? "Training cards, " : "Identification cards, ") + plan.name));
  say(options.common,
      fmt::format("{} in {}, eight to a page.", counted_words(cards.size(), "card", "cards"), file.string()));
  json.Add("cards", GInt64(cards.size()));
  json.Add("cards_file", file.string());
}

Status show_conflicts(const PacketOptions& options, const PacketSeason& at, CPLJSONObject& json) {
  CPLJSONArray conflicts;
  for (const std::string& conflict : at.visits.conflicts) {
    if (options.common.quiet && !options.common.json)
      fmt::print(stderr, "CONFLICT {}\n", printable(conflict));
    else
      say(options.common, "CONFLICT " + conflict);
    conflicts.Add(conflict);
  }
  json.Add("visits", GInt64(at.visits.visits.size()));
  json.Add("conflicts", conflicts);
  return at.visits.conflicts.empty() ? Status::done : Status::needs_person;
}

}  // namespace

std::function<Status()> setup_packet(CLI::App& app) {
  auto options = std::make_shared<PacketOptions>();
  add_common(app, options->common);
  app.add_option("--site", options->sites, "Codes of the sites to do, with commas (default: all)")
      ->delimiter(',');
  app.add_flag("--card", options->card, "Identification cards alone, pocket size, in out/packet/cards.html");
  app.add_flag("--training", options->training,
               "Cards of every species with all look-alikes, for training days");
  app.add_option("--today", options->today, "The day it is, like 2027-03-18 (default: today)");
  add_examples(app, "packet plan.toml", "packet plan.toml --site QPR,ANL --card");
  return [options] {
    std::optional<FolderLock> lock;
    PacketSeason at = open_packet(*options, lock);
    check_asked_sites(at, options->sites);
    CPLJSONObject json;
    if (options->card || options->training) {
      write_cards(*options, at, json);
    } else {
      write_sheets(*options, at, json);
      const std::filesystem::path table = at.season.plan.out / "visits.csv";
      const auto kept = write_visits_table(table, at.season, at.species, at.visits);
      say(options->common, fmt::format("Who goes when: {}.", table.string()));
      if (kept)
        say(options->common,
            fmt::format("It says something else than the one before, which is kept as {}. If you had changed "
                        "that one by hand, move it out of {} and name it as table in [visits].",
                        kept->filename().string(), at.season.plan.out.filename().string()));
      if (kept) json.Add("visits_kept_file", kept->string());
      json.Add("visits_file", table.string());
    }
    const Status status = show_conflicts(*options, at, json);
    show_findings(options->common, at.flags);
    add_findings(json, at.flags);
    print_json(options->common, json);
    return status;
  };
}

}  // namespace swardline::tool
