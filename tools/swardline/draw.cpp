#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <chrono>
#include <cmath>
#include <future>
#include <iterator>
#include <map>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"
#include "swardline/design/blocks.hpp"
#include "swardline/design/edges.hpp"
#include "swardline/effort/effort.hpp"
#include "swardline/field/names.hpp"
#include "swardline/field/point_files.hpp"
#include "swardline/lines/declination.hpp"
#include "swardline/report/design_page.hpp"
#include "swardline/report/site_map.hpp"
#include "swardline/report/stake_out_page.hpp"
#include "swardline/returns/ledger.hpp"

namespace swardline::tool {
namespace {

// Kept plots have their names; no name of an earlier season is given again.
void name_all(SeasonDraw& draw, std::set<std::string> taken) {
  std::vector<NameRequest> requests;
  std::vector<Plot*> nameless;
  for (const EarlierName& earlier : draw.earlier_names) taken.insert(earlier.name);
  const auto ask = [&](Plot& plot) {
    if (plot.name.empty()) {
      requests.push_back({plot.site, plot.stratum, plot.order, plot.spare});
      nameless.push_back(&plot);
    } else {
      taken.insert(plot.name);
    }
  };
  for (Plot& plot : draw.plots) ask(plot);
  for (Transect& transect : draw.transects) ask(transect.unit);
  const std::vector<std::string> names = name_plots(requests, taken);
  for (std::size_t i = 0; i < names.size(); ++i) nameless[i]->name = names[i];
}

// Plots that teams go to or hold ready this season.
std::vector<Plot> due_plots(const std::vector<Plot>& all) {
  std::vector<Plot> due;
  std::copy_if(all.begin(), all.end(), std::back_inserter(due), [](const Plot& plot) { return plot.due(); });
  return due;
}

// A redraw that gives a stratum another number of plots says so: packets may be printed already.
std::vector<std::string> changed_numbers(std::map<std::string, int> before,
                                         const std::vector<Stratum>& strata) {
  std::vector<std::string> lines;
  if (before.empty()) return lines;
  for (const Stratum& stratum : strata) {
    const auto was = before.find(stratum.id);
    if (was == before.end())
      lines.push_back(
          fmt::format("NEW {}: {} plots; the last draw had no such stratum.", stratum.id, stratum.planned));
    else if (was->second != stratum.planned)
      lines.push_back(fmt::format("CHANGED {}: {} plots, {} in the last draw.", stratum.id, stratum.planned,
                                  was->second));
    before.erase(stratum.id);
  }
  for (const auto& [id, planned] : before)
    lines.push_back(fmt::format("GONE {}: {} plots in the last draw, no such stratum now.", id, planned));
  return lines;
}

struct NamesSince {
  int named = 0;  ///< names of the last draw that are in this one
  int moved = 0;  ///< of them, at other places
  int gone = 0;   ///< names of the last draw that are not in this one
};

NamesSince names_since(const std::vector<Plot>& before, const std::vector<Plot>& now) {
  constexpr double same_place_m = 0.01;
  std::map<std::string, const Plot*> earlier;
  for (const Plot& plot : before) earlier[plot.name] = &plot;
  NamesSince since;
  for (const Plot& plot : now) {
    const auto found = earlier.find(plot.name);
    if (found == earlier.end()) continue;
    ++since.named;
    if (std::hypot(plot.east - found->second->east, plot.north - found->second->north) > same_place_m)
      ++since.moved;
  }
  since.gone = int(earlier.size()) - since.named;
  return since;
}

// Packets of the last draw may be printed, and tags may be out: a name that stands elsewhere now is said.
std::string moved_names(const NamesSince& since) {
  if (since.moved == 0) return {};
  return fmt::format(
      "MOVED {} of the {} plots whose names were in the last draw: throw away what was printed or "
      "loaded from it.",
      since.moved, since.named);
}

// Counts know their plots by name alone.
void refuse_to_move_counted(const Plan& plan, const NamesSince& since) {
  if (since.moved + since.gone == 0 || read_ledger(plan).empty()) return;
  throw InputError(
      {plan.returns.folder.string(), 0, {}},
      fmt::format(
          "counts have come back, and this draw would put {} of the {} names of the last one at other "
          "places and take {} away: counts would be joined to other ground",
          since.moved, since.named + since.gone, since.gone),
      "Take back what was changed since the last draw; for another season name this store under [sample] "
      "keep. "
      "Nothing was written.");
}

// "4", or "3 of 4" where not all could be drawn.
std::string of_asked(int drawn, int asked) {
  return drawn == asked ? fmt::format("{}", drawn) : fmt::format("{} of {}", drawn, asked);
}

CPLJSONArray lines_json(const std::vector<std::string>& lines) {
  CPLJSONArray array;
  for (const std::string& line : lines) array.Add(line);
  return array;
}

CPLJSONObject stratum_json(const Stratum& stratum) {
  CPLJSONObject object;
  object.Add("stratum", stratum.id);
  object.Add("site", stratum.site);
  object.Add("area_m2", stratum.area_m2());
  object.Add("planned", stratum.drawn);
  object.Add("planned_asked", stratum.planned);
  object.Add("spares", stratum.spares_drawn);
  object.Add("spares_asked", stratum.spares);
  if (!stratum.joined.empty()) object.Add("joined", stratum.joined);
  return object;
}

CPLJSONObject transect_json(const Transect& transect) {
  const Plot& unit = transect.unit;
  CPLJSONObject object;
  object.Add("name", unit.name);
  object.Add("site", unit.site);
  object.Add("spare", unit.spare);
  object.Add("lat", unit.lat);
  object.Add("lon", unit.lon);
  object.Add("bearing_true", unit.bearing_deg);
  if (transect.magnetic_bearing_deg) object.Add("bearing_magnetic", *transect.magnetic_bearing_deg);
  object.Add("length_m", transect.length_m);
  object.Add("tape_m", transect.tape_m);
  object.Add("inside_m2", unit.inside_m2);
  object.Add("twice_m2", unit.twice_m2);
  object.Add("parts", transect.parts);
  object.Add("stations", int(transect.stations.size()));
  object.Add("stake_out", transect.stake_out);
  return object;
}

// Each transect in a line, and all of them in words in a file.
void show_transects(const Common& common, const Plan& plan, const SeasonDraw& draw, CPLJSONObject& json) {
  if (draw.transects.empty() && draw.reference_lines.empty()) return;
  const std::filesystem::path file = plan.out / "stake-out.txt";
  write_whole(file, stake_out_text(draw, plan.name, Declination(plan.declination).words()));
  say(common, fmt::format("  {:<10} {:>8} {:>8} {:>8} {:>9} {:>10}  {}", "transect", "level m", "tape m",
                          "true", "magnetic", "inside m²", "tape marks inside"));
  CPLJSONArray lines;
  for (const Transect& t : draw.transects) {
    say(common, fmt::format("  {:<10} {:>8.1f} {:>8.1f} {:>8} {:>9} {:>9.1f}  {}", t.unit.name, t.length_m,
                            t.tape_m, bearing_text(t.unit.bearing_deg),
                            t.magnetic_bearing_deg ? bearing_text(*t.magnetic_bearing_deg) : "-",
                            t.unit.inside_m2, t.parts));
    lines.Add(transect_json(t));
  }
  if (!plan.declination.given) say(common, "Magnetic bearings are left out: the plan has no [declination].");
  say(common, fmt::format("How to lay each, in words: {}", file.string()));
  json.Add("transects", lines);
  json.Add("reference_lines", int(draw.reference_lines.size()));
  json.Add("stake_out", file.string());
}

}  // namespace

Status draw_opened(const Common& common, Opened& opened, bool new_strata, CPLJSONObject& json) {
  const std::string started = utc_now();
  const Plan& plan = opened.season.plan;
  Store store(plan.store);
  store.check_writable();
  keep_chosen_blocks(plan, opened.crs, opened.layers.grid(), opened.sites, opened.flags);
  opened.flags.throw_if_stopped();
  const std::string total = settle_total(opened.season, opened.sites, opened.flags);
  for (const std::string& line : edge_losses(plan.sample, opened.sites)) say(common, line);
  SeasonDraw draw =
      draw_season(opened.season, opened.crs, opened.sites, opened.layers, opened.model, opened.access,
                  {threads_of(common),
                   progress_line(common),
                   {plan.folder / "record", new_strata, started.substr(0, 10)},
                   read_kept(plan, opened.crs, opened.flags),
                   map_cells},
                  opened.flags);
  if (!total.empty()) draw.certificate.allocation.insert(draw.certificate.allocation.begin(), total);
  // Strata made anew have other names; what moved is said in hectares.
  const std::vector<Plot> plots_before = store.read_plots();
  const std::map<std::string, int> before = new_strata ? std::map<std::string, int>{} : store.read_planned();
  name_all(draw, store.names_of_other_seasons(plan.name));
  look_for_close_plots(plan, opened.sites, draw, opened.flags);
  check_reached(draw.plots, opened.access, opened.flags);
  const NamesSince since = names_since(plots_before, draw.plots);
  refuse_to_move_counted(plan, since);
  // The strata of record first: plots without them could not be drawn again.
  if (draw.record) draw.record->publish();
  const std::filesystem::path panels = plan.folder / "record" / "panels.toml";
  if (!draw.panels_record.empty()) {
    make_folder(panels.parent_path());  // strata of linear sites alone leave no record
    write_whole(panels, draw.panels_record);
  } else
    std::filesystem::remove(panels);
  // The store next: what cannot be kept there must not be shown by maps or a certificate. Maps are drawn
  // meanwhile, and seen after it.
  std::future<void> stored = std::async(
      threads_of(common) > 1 ? std::launch::async | std::launch::deferred : std::launch::deferred, [&] {
        store.write_draw(opened.crs, opened.sites, draw, plan.name,
                         run_record("draw", plan, draw.certificate.inputs, started));
      });
  if (stored.wait_for(std::chrono::seconds(0)) == std::future_status::deferred) stored.wait();
  const auto maps = write_site_maps(opened.season, opened.crs, opened.sites, opened.layers, opened.model,
                                    due_plots(draw.plots), plan.out / "maps", draw.transects,
                                    threads_of(common), draw.site_cells, [&stored] { stored.get(); });
  const int removed = remove_point_files(plan.out / "points");
  write_whole(plan.out / "certificate.json", swardline::to_json(draw.certificate));
  write_design_page(draw.certificate, opened.flags, maps, plan.out / "design.html");

  for (const Site& site : opened.sites.sites) say(common, swardline::in_words(site));
  say(common, fmt::format("  {:<34} {:>10} {:>8} {:>8}", "stratum", "hectares",
                          plan.sample.unit == SampleUnit::transect ? "lines" : "plots", "spares"));
  CPLJSONArray strata;
  // What was drawn: fewer than the strata ask for where plots must lie apart.
  for (const Stratum& stratum : draw.strata) {
    say(common,
        fmt::format("  {:<34} {:>10.2f} {:>8} {:>8}{}", stratum.id, stratum.area_m2() * 1e-4,
                    of_asked(stratum.drawn, stratum.planned), of_asked(stratum.spares_drawn, stratum.spares),
                    stratum.joined.empty() ? "" : "  " + stratum.joined));
    strata.Add(stratum_json(stratum));
  }
  show_transects(common, plan, draw, json);
  const bool of_lines = plan.sample.unit == SampleUnit::transect;
  const auto with_status = [&](const char* status) {
    return std::count_if(draw.plots.begin(), draw.plots.end(),
                         [status](const Plot& plot) { return plot.status == status; }) +
           std::count_if(draw.transects.begin(), draw.transects.end(),
                         [status](const Transect& t) { return t.unit.status == status; });
  };
  const auto planned = with_status("planned"), spares = with_status("spare"),
             resting = with_status("resting");
  for (const std::string& line : changed_numbers(before, draw.strata)) say(common, line);
  if (const std::string moved = moved_names(since); !moved.empty()) say(common, moved);
  for (const std::string& line : draw.certificate.record) say(common, line);
  for (const std::string& line : draw.certificate.allocation) say(common, line);
  for (const ChosenGround& chosen : draw.certificate.chosen) say(common, swardline::in_words(chosen));
  for (const std::string& line : draw.certificate.kept) say(common, line);
  if (draw.certificate.panels)
    for (const std::string& line : swardline::in_words(*draw.certificate.panels)) say(common, line);
  std::vector<std::string> shortfalls = draw.certificate.shortfalls;
  if (planned + spares == 0)
    shortfalls.push_back("no stratum gives a plot: see the site maps for what is excluded.");
  for (const std::string& line : shortfalls) say(common, "SHORT " + line);
  if (removed > 0)
    say(common, fmt::format("Removed {} point {} of an earlier draw from {}; points writes them anew.",
                            removed, removed == 1 ? "file" : "files", (plan.out / "points").string()));
  say(common, fmt::format("{} {} and {} spares from seed {}, in {}. Certificate: {}, as a page: {}.", planned,
                          of_lines ? "transects" : "plots", spares, plan.seed, plan.store,
                          (plan.out / "certificate.json").string(), (plan.out / "design.html").string()));
  json.Add("strata", strata);
  json.Add("planned", GInt64(planned));
  json.Add("spares", GInt64(spares));
  json.Add("resting", GInt64(resting));
  json.Add("outside", GInt64(std::ssize(draw.plots) - planned - spares - resting));
  json.Add("strata_of_record", lines_json(draw.certificate.record));
  json.Add("kept", lines_json(draw.certificate.kept));
  json.Add("shortfalls", lines_json(shortfalls));
  json.Add("point_files_removed", removed);
  return shortfalls.empty() ? Status::done : Status::needs_person;
}

std::function<Status()> setup_draw(CLI::App& app) {
  struct Options {
    Common common;
    bool new_strata = false;
  };
  auto options = std::make_shared<Options>();
  add_common(app, options->common);
  add_new_strata(app, options->new_strata);
  add_examples(app, "draw plan.toml", "draw plan.toml --new-strata --json");
  return [options] {
    const Common& common = options->common;
    const CheckResult checked = check_first(common, CellsChecked::at_sites, !options->new_strata);
    Opened opened = open_season(common, &checked);
    const FolderLock lock(opened.season.plan.folder);
    CPLJSONObject json;
    const Status status = draw_opened(common, opened, options->new_strata, json);
    const Flags findings = each_once(checked.flags, opened.flags);
    show_findings(common, findings);
    add_findings(json, findings);
    print_json(common, json);
    return status;
  };
}

}  // namespace swardline::tool
