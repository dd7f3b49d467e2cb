#include "swardline/design/draw_season.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>
#include <filesystem>
#include <limits>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/edges.hpp"
#include "swardline/design/season_parts.hpp"
#include "swardline/design/strata.hpp"
#include "swardline/geo/geometry.hpp"

namespace swardline {

std::string season_parts::file_print(const std::filesystem::path& file) {
  std::error_code unread;
  return !file.empty() && std::filesystem::is_regular_file(file, unread) ? content_fingerprint(file) : "-";
}

namespace {

using namespace season_parts;

/// Calls `work` for every index, each worker taking the next one left: strata differ too much in
/// effort for even runs. What is done for one index must not depend on the others.
void each_index(std::size_t count, int threads, const Progress& progress, const char* stage,
                const std::function<void(std::size_t)>& work) {
  std::atomic<std::size_t> next{0};
  std::atomic<std::int64_t> done{0};
  const std::size_t workers = std::min(count, std::size_t(std::max(1, threads)));
  in_runs(workers, threads, [&](int, std::size_t, std::size_t) {
    for (std::size_t i = next++; i < count; i = next++) {
      work(i);
      if (progress) progress(stage, ++done, std::int64_t(count));
    }
  });
}

/// The ground for pins of the sites a stratum lies in.
Geometry around_of(const SampleSpec& sample, const Sites& sites, const std::vector<std::size_t>& which) {
  if (which.size() == 1) return ground_for_pins(sample, sites.sites[which.front()].survey);
  std::vector<Geometry> parts;
  for (const std::size_t i : which) parts.push_back(ground_for_pins(sample, sites.sites[i].survey));
  return polygons_of(united(parts));
}

/// How far apart the kept plots lie, and how evenly over the stratum.
void describe_kept(const SeasonStrata& ground, std::size_t index, const Plan& plan, const Stratum& stratum,
                   StratumDraw& draw) {
  std::vector<Point> planned, points;
  for (const Pin& pin : draw.pins) {
    if (!pin.spare) planned.push_back(pin.at);
  }
  // An inner margin may have taken all its ground since.
  if (stratum.frame_mm2 > 0) {
    constexpr std::int64_t points_a_plot = 20, least_points = 200;
    draw.candidates = std::max(least_points, points_a_plot * std::ssize(planned));
    const std::unique_ptr<Frame> frame = ground.frame(index);
    const RandomKey key = RandomKey(plan.seed, stratum.id).under("candidates");
    for (const Candidate& c : hierarchical_candidates(*frame, draw.candidates, key)) points.push_back(c.at);
    draw.balance = balance_index(points, planned);
  }
  draw.balance_of_random = std::numeric_limits<double>::quiet_NaN();
  double nearest = std::numeric_limits<double>::infinity();
  for (std::size_t i = 0; i < planned.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      const double dx = planned[i].x - planned[j].x, dy = planned[i].y - planned[j].y;
      nearest = std::min(nearest, std::sqrt(dx * dx + dy * dy));
    }
  }
  if (planned.size() > 1) draw.nearest_pair_m = nearest;
}

/// A stratum whose plots are those of earlier seasons.
DrawnStratum keep_one(const Plan& plan, const SeasonStrata& ground, std::size_t index, const Stratum& stratum,
                      const std::vector<KeptPlot>& kept) {
  DrawnStratum drawn;
  drawn.kept = kept;
  drawn.draw.method = DrawMethod::kept;
  drawn.draw.area_mm2 = stratum.frame_mm2;
  for (const KeptPlot& k : kept) {
    drawn.draw.pins.push_back({.at = {k.plot->east, k.plot->north},
                               .col = k.place.col,
                               .row = k.place.row,
                               .spare = k.plot->spare,
                               .order = k.plot->order,
                               .bearing_deg = k.plot->bearing_deg});
    drawn.site.push_back(k.place.site);
    drawn.cells.emplace_back(k.place.col, k.place.row);
  }
  describe_kept(ground, index, plan, stratum, drawn.draw);
  return drawn;
}

DrawnStratum draw_one(const Plan& plan, const Sites& sites, const SeasonStrata& ground, std::size_t index,
                      const Stratum& stratum) {
  DrawnStratum drawn;
  if (stratum.all_planned + stratum.all_spares == 0) {
    drawn.draw.area_mm2 = stratum.frame_mm2;
    return drawn;
  }
  if (stratum.frame_mm2 == 0 && plan.sample.edge == EdgeRule::inner_margin) {
    drawn.draw.shortfalls.push_back(fmt::format(
        "0 of {} plots drawn: all of its {:.0f} m² lie within {:.4g} m of an edge, the inner margin",
        stratum.all_planned, stratum.area_m2(), plan.sample.margin_m));
    return drawn;
  }
  DrawRequest request;
  request.stratum = stratum.id;
  request.seed = plan.seed;
  request.planned = stratum.all_planned;
  request.spares = stratum.all_spares;
  request.apart_m = plan.sample.apart_m;
  request.refuse_when_apart_binds = plan.sample.refuse_when_apart_binds;
  request.reach_m = plan.sample.reach_m();
  Geometry survey;
  if (request.apart_m > 0) {
    survey = around_of(plan.sample, sites, ground.sites_of(index));
    request.survey_area = &survey;
  }
  const std::unique_ptr<Frame> frame = ground.frame(index);
  drawn.draw = draw_stratum(*frame, request);
  for (const Pin& pin : drawn.draw.pins) {
    const std::size_t site = ground.site_at(index, pin.col, pin.row, pin.at);
    drawn.site.push_back(site);
    drawn.cells.push_back(ground.scored_cell(site, pin.col, pin.row));
  }
  return drawn;
}

/// Square metres for ground about as large as a plot: "48 m²", "7.3 m²".
std::string small_area(double m2) {
  if (m2 < 0.01) return "less than 0.01 m²";
  return m2 < 10 ? fmt::format("{:.2g} m²", m2) : fmt::format("{:.0f} m²", m2);
}

/// What was not drawn, and ground too small for what was.
void say_shortfalls(const Plan& plan, const StratumCertificate& c, std::vector<std::string>& words) {
  const std::string id = spoken(c.stratum.id);
  for (const std::string& line : c.draw.shortfalls) words.push_back(fmt::format("{}: {}.", id, line));
  const double unit = plan.sample.unit_area_m2(), area = c.stratum.area_m2();
  const int drawn = c.stratum.drawn;
  if (drawn == 0 || drawn * unit <= area) return;
  words.push_back(
      area < unit
          ? fmt::format("{}: its ground ({}) is smaller than one plot of {}, and {} drawn there: {}.", id,
                        small_area(area), small_area(unit),
                        drawn == 1 ? "one was" : fmt::format("{} were", drawn),
                        drawn == 1 ? "it reaches beyond" : "they lie over one another and reach beyond")
          : fmt::format("{}: {} plots of {} drawn on {}: they overlap or reach beyond it; about {} fit.", id,
                        drawn, small_area(unit), small_area(area), int(area / unit)));
}

StratumCertificate certificate_of(const Stratum& stratum, const StratumDraw& draw) {
  StratumCertificate c{stratum, draw};
  c.draw.pins.clear();
  return c;
}

/// Of everything the plots depend on: the plan, sheets, layers and survey areas.
std::string fingerprint(const Season& season, const Sites& sites, const Layers& layers,
                        const std::string& record) {
  std::string text = "layers " + layers.fingerprint() + "\nplan " + file_print(season.plan.file) + "\n";
  if (!record.empty()) text += "record " + record + "\n";
  if (season.plan.sample.keep) text += "kept " + file_print(season.plan.sample.keep->file) + "\n";
  for (const Sheet& sheet : season.sheets) {
    text += fmt::format("sheet {} {} {}\n", sheet.code, sheet.version,
                        file_print(season.plan.folder / sheet.file));
  }
  // Worked out from a pilot or from hours, it stands in no other input.
  if (season.plan.sample.total_from != TotalFrom::number)
    text += fmt::format("total {}\n", season.plan.sample.total.value_or(0));
  for (const Site& site : sites.sites) {
    const std::vector<unsigned char> wkb = to_wkb(site.survey);
    text += fmt::format("site {} {}\n", site.code,
                        text_fingerprint({reinterpret_cast<const char*>(wkb.data()), wkb.size()}));
  }
  return text_fingerprint(text);
}

/// One stratum for each linear site.
void add_verges(const Plan& plan, const Sites& sites, const std::vector<DrawnVerge>& verges, SeasonDraw& draw,
                Flags& flags) {
  Certificate& certificate = draw.certificate;
  for (std::size_t i = 0; i < verges.size(); ++i) {
    if (!sites.sites[i].verge) continue;
    const DrawnVerge& verge = verges[i];
    Stratum stratum = verge.stratum;
    stratum.all_planned = stratum.planned;
    stratum.all_spares = stratum.spares;
    draw.strata.push_back(stratum);
    certificate.strata.push_back(certificate_of(stratum, verge.draw));
    certificate.allocation.push_back(numbers_in_words(plan.sample, verge));
    for (const std::string& line : verge.draw.shortfalls)
      certificate.shortfalls.push_back(fmt::format("{}: {}.", spoken(verge.stratum.id), line));
    if (verge.stratum.planned == 1) {
      flags.add(Severity::ask, "stratum with one plot", plan.sites.linear.place,
                fmt::format("{} gets one segment: no spread can be computed from it.", verge.stratum.site),
                "Give it two.");
    }
  }
  std::sort(draw.strata.begin(), draw.strata.end(),
            [](const Stratum& a, const Stratum& b) { return a.id < b.id; });
  std::sort(
      certificate.strata.begin(), certificate.strata.end(),
      [](const StratumCertificate& a, const StratumCertificate& b) { return a.stratum.id < b.stratum.id; });
}

/// Pins that are due this season; of kept plots, as many are asked as there are.
void count_drawn(const DrawnStratum& drawn, Stratum& stratum) {
  const PanelScheme* scheme = drawn.panels.scheme;
  for (std::size_t pin = 0; pin < drawn.draw.pins.size(); ++pin) {
    if (scheme != nullptr && !scheme->due(drawn.panels.of_pin[pin])) continue;
    ++(drawn.draw.pins[pin].spare ? stratum.spares_drawn : stratum.drawn);
  }
  if (stratum.kept == 0) return;
  stratum.planned = stratum.drawn;
  stratum.spares = stratum.spares_drawn;
}

void add_once(std::vector<std::string>& all, const std::string& text) {
  if (!text.empty() && std::find(all.begin(), all.end(), text) == all.end()) all.push_back(text);
}

/// In place of plots: transects, each stratum's by themselves, and the lines placed by hand.
void draw_transects(const Season& season, const Crs& crs, const Sites& sites, const Layers& layers,
                    const Access& access, const SeasonStrata& ground, const DrawOptions& options,
                    SeasonDraw& result, Flags& flags) {
  Certificate& certificate = result.certificate;
  check_transect_length(season.plan, sites, flags);
  flags.throw_if_stopped();
  std::vector<StratumDraw> drawn(result.strata.size());
  std::vector<std::vector<Transect>> by_stratum(drawn.size());
  std::vector<std::string> routes(drawn.size());
  each_index(drawn.size(), options.threads, options.progress, "draw", [&](std::size_t i) {
    by_stratum[i] =
        transects_of_stratum(season, crs, sites, layers, ground, i, result.strata[i], drawn[i], routes[i]);
  });
  std::vector<Transect> all;
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    Stratum& stratum = result.strata[i];
    for (const Transect& t : by_stratum[i]) ++(t.unit.spare ? stratum.spares_drawn : stratum.drawn);
    certificate.strata.push_back(certificate_of(stratum, drawn[i]));
    for (const std::string& line : drawn[i].shortfalls)
      certificate.shortfalls.push_back(fmt::format("{}: {}.", spoken(stratum.id), line));
    add_once(certificate.routes, routes[i]);
    std::move(by_stratum[i].begin(), by_stratum[i].end(), std::back_inserter(all));
  }
  result.transects = in_site_order(sites, access, std::move(all));
  read_line_scores(ground, layers.grid(), options.threads, result.transects);
  result.reference_lines = read_reference_lines(season.plan, crs, sites, layers, flags);
  if (const std::size_t lines = result.reference_lines.size(); lines > 0)
    certificate.allocation.push_back(
        fmt::format("{} reference {} placed by hand: kept, without a chance, and out of every estimate.",
                    lines, lines == 1 ? "line" : "lines"));
}

/// Panels that get no plot where others do: their seasons have fewer plots than asked.
void say_empty_panels(const PanelScheme& scheme, const Stratum& stratum, const PanelShares& shares,
                      std::vector<std::string>& words) {
  std::vector<std::string> empty;
  for (std::size_t p = 0; p < shares.sizes.size(); ++p) {
    if (shares.sizes[p] == 0) empty.push_back(scheme.panels()[p].name);
  }
  if (empty.empty() || empty.size() == shares.sizes.size()) return;
  words.push_back(fmt::format("{}: {} plots a season are too few for the pattern: panels {} have none.",
                              spoken(stratum.id), stratum.planned, in_words(empty)));
}

/// The scores of all strata's pins at once: those of one site lie in the same blocks.
void read_scores(const SeasonStrata& ground, int threads, std::vector<DrawnStratum>& drawn) {
  std::vector<std::pair<std::int64_t, std::int64_t>> cells;
  for (const DrawnStratum& d : drawn) cells.insert(cells.end(), d.cells.begin(), d.cells.end());
  std::vector<CellReading> readings = ground.readings(cells, threads);
  auto next = readings.begin();
  for (DrawnStratum& d : drawn) {
    const auto end = next + std::ptrdiff_t(d.cells.size());
    d.readings.assign(std::make_move_iterator(next), std::make_move_iterator(end));
    next = end;
  }
}

/// Draws the strata's pins, each stratum by itself, or keeps those of earlier seasons. `scheme` is null
/// without panels.
void draw_pins(const Plan& plan, const Sites& sites, const SeasonStrata& ground, const DrawOptions& options,
               const KeptGround& kept, const PanelScheme* scheme, std::vector<DrawnStratum>& drawn,
               SeasonDraw& result) {
  each_index(drawn.size(), options.threads, options.progress, "draw", [&](std::size_t i) {
    const Stratum& stratum = result.strata[i];
    drawn[i] = kept.in(i) ? keep_one(plan, ground, i, stratum, kept.by_stratum[i])
                          : draw_one(plan, sites, ground, i, stratum);
    if (scheme != nullptr) drawn[i].panels = share_panels(*scheme, stratum, drawn[i], options.kept);
  });
  read_scores(ground, options.threads, drawn);
  Certificate& certificate = result.certificate;
  for (std::size_t i = 0; i < drawn.size(); ++i) {
    Stratum& stratum = result.strata[i];
    count_drawn(drawn[i], stratum);
    certificate.strata.push_back(certificate_of(stratum, drawn[i].draw));
    say_shortfalls(plan, certificate.strata.back(), certificate.shortfalls);
    if (scheme != nullptr) say_empty_panels(*scheme, stratum, drawn[i].panels, certificate.shortfalls);
  }
}

}  // namespace

SeasonDraw draw_season(const Season& season, const Crs& crs, const Sites& sites, const Layers& layers,
                       const Model& model, const Access& access, const DrawOptions& options, Flags& flags) {
  const Plan& plan = season.plan;
  if (!plan.blocks.chosen.empty() && sites.chosen.empty())
    throw Defect("the sites were not cut to the chosen blocks before the draw");
  SeasonDraw result;
  Certificate& certificate = result.certificate;
  certificate.seed = plan.seed;
  certificate.routes = sites.routes;
  certificate.edge = {plan.sample.edge, edge_losses(plan.sample, sites)};

  const SeasonStrata ground = SeasonStrata::make(season, sites, layers, model, options.threads,
                                                 options.progress, flags, options.record, options.map_cells);
  result.record = ground.draft();
  result.site_cells = ground.site_cells();
  certificate.record = ground.record_words();
  certificate.record_fingerprint = ground.record_fingerprint();
  certificate.inputs = fingerprint(season, sites, layers, certificate.record_fingerprint);
  result.strata = ground.strata();
  if (!result.strata.empty()) give_numbers(plan, ground, result.strata, certificate, flags);
  result.panels_record = panels_to_record(plan, options.record.folder, options.kept, flags);
  std::optional<PanelScheme> scheme;
  if (plan.panels.given) scheme.emplace(plan.panels);
  for (Stratum& stratum : result.strata) {
    stratum.all_planned = stratum.planned;
    stratum.all_spares = stratum.spares;
  }
  if (scheme) give_panel_numbers(plan, *scheme, result.strata);
  const KeptGround kept = place_kept(plan, ground, options.kept, certificate);
  keep_numbers(kept, result.strata, certificate.kept);
  result.earlier_names = options.kept.names;

  std::vector<DrawnStratum> drawn(result.strata.size());
  if (plan.sample.unit == SampleUnit::transect) {
    draw_transects(season, crs, sites, layers, access, ground, options, result, flags);
  } else {
    draw_pins(plan, sites, ground, options, kept, scheme ? &*scheme : nullptr, drawn, result);
  }

  std::vector<std::vector<Plot>> by_site(sites.sites.size());
  std::vector<std::string> routes(sites.sites.size());
  std::vector<DrawnVerge> verges(sites.sites.size());
  each_index(by_site.size(), options.threads, options.progress, "plots", [&](std::size_t i) {
    if (sites.sites[i].verge) {
      verges[i] = draw_verge(plan, crs, sites.sites[i], access, ground, layers.grid());
      by_site[i] = std::move(verges[i].plots);
      routes[i] = verges[i].route;
      return;
    }
    if (plan.sample.unit == SampleUnit::plot)
      by_site[i] = plots_of_site(plan, crs, sites, i, access, result.strata, drawn, routes[i]);
  });
  for (std::size_t i = 0; i < by_site.size(); ++i) {
    add_once(certificate.routes, routes[i]);
    std::move(by_site[i].begin(), by_site[i].end(), std::back_inserter(result.plots));
  }
  std::vector<Plot> outside = outside_plots(kept, plan, crs);
  std::move(outside.begin(), outside.end(), std::back_inserter(result.plots));
  if (scheme) certificate.panels = panel_table(*scheme, result.plots, result.strata);
  add_verges(plan, sites, verges, result, flags);
  describe(plan, sites, result);
  return result;
}

}  // namespace swardline
