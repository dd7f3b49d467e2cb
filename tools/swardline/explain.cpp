#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <memory>

#include "commands.hpp"
#include "opened.hpp"
#include "output.hpp"
#include "swardline/base/text.hpp"

namespace swardline::tool {
namespace {

Point place_of_text(const std::string& text, const Crs& crs) {
  double lon = 0;
  double lat = 0;
  char more = 0;
  if (std::sscanf(text.c_str(), "%lf,%lf%c", &lon, &lat, &more) != 2)
    throw Error(Status::command_line, {"--at", 0, {}},
                fmt::format("'{}' is not a longitude and a latitude", text),
                "Write for example --at -96.02184,38.00412.");
  if (!(lat >= -90 && lat <= 90 && lon >= -180 && lon <= 180))
    throw Error(
        Status::command_line, {"--at", 0, {}},
        fmt::format("longitude {} and latitude {} are not on the Earth", lon, lat),
        lon >= -90 && lon <= 90 ? "Longitude comes first: are they swapped?" : "Longitude comes first.");
  return Route(Crs::wgs84(), crs).forward(Point{lon, lat});
}

Point place_of_plot(const std::string& name, const Plan& plan, const Crs& crs) {
  const Store store(plan.store);
  std::vector<std::string> names;
  for (const Plot& plot : store.read_plots()) {
    if (plot.name == name) {
      store.check_drawn_for(plan, crs);
      return {plot.east, plot.north};
    }
    names.push_back(plot.name);
  }
  const std::string nearest = nearest_word(name, names);
  throw Error(Status::input, {plan.store, 0, {}}, fmt::format("has no plot named '{}'", name),
              names.empty()     ? "Draw first: swardline draw " + plan.file.string()
              : nearest.empty() ? "Look the name up in the store's table plots."
                                : "Did you mean " + nearest + "?");
}

// True where no layer that any species asks for holds anything.
bool nothing_here(const PlaceExplained& place) {
  return !place.species.empty() &&
         std::all_of(place.species.begin(), place.species.end(), [](const auto& entry) {
           const CellScore& cell = entry.second;
           return cell.outcome == Outcome::no_score && cell.factors.empty() && !cell.reason.ends_with(")") &&
                  std::all_of(cell.masks.begin(), cell.masks.end(), [](const LayerValue& value) {
                    return value.none || (!value.number && value.class_code.empty());
                  });
         });
}

CPLJSONObject species_json(const std::string& code, const Sheet& sheet, const CellScore& cell) {
  CPLJSONObject object;
  object.Add("species", code);
  object.Add("outcome", cell.outcome == Outcome::scored     ? "scored"
                        : cell.outcome == Outcome::excluded ? "excluded"
                                                            : "no score");
  if (cell.outcome == Outcome::scored) object.Add("score", cell.score);
  if (cell.held_down_by) object.Add("held_down_by", sheet.factors[*cell.held_down_by].layer);
  if (!cell.reason.empty()) object.Add("reason", cell.reason);
  CPLJSONArray factors;
  for (const FactorOutcome& factor : cell.factors) {
    CPLJSONObject one;
    one.Add("layer", sheet.factors[factor.factor].layer);
    if (factor.value.number) one.Add("value", *factor.value.number);
    if (!factor.value.class_code.empty()) one.Add("class", factor.value.class_code);
    one.Add("response", factor.response);
    factors.Add(one);
  }
  object.Add("factors", factors);
  return object;
}

}  // namespace

std::function<Status()> setup_explain(CLI::App& app) {
  struct Options {
    Common common;
    std::string at, plot, species;
  };
  auto options = std::make_shared<Options>();
  add_common(app, options->common);
  CLI::Option* at = app.add_option(
      "--at", options->at, "Longitude and latitude in degrees (WGS84), for example -96.02184,38.00412");
  CLI::Option* plot = app.add_option("--plot", options->plot, "Name of a drawn plot");
  at->excludes(plot);
  app.add_option("--species", options->species, "Only this species");
  add_examples(app, "explain plan.toml --at -96.02184,38.00412",
               "explain plan.toml --plot QPR07E --species PTUB");
  return [options] {
    if (options->at.empty() && options->plot.empty())
      throw Error(Status::command_line, {}, "explain needs a place", "Give --at LON,LAT or --plot NAME.");
    const Common& common = options->common;
    Opened opened = open_season(common);
    Season season = opened.season;
    if (!options->species.empty()) {
      std::vector<std::string> codes;
      std::erase_if(season.sheets, [&](const Sheet& sheet) {
        codes.push_back(sheet.code);
        return sheet.code != options->species;
      });
      if (season.sheets.empty())
        throw InputError({season.plan.file.string(), 0, {}},
                         fmt::format("has no species '{}'", options->species),
                         "Known: " + swardline::in_words(codes) + ".");
    }
    const Point at = options->plot.empty() ? place_of_text(options->at, opened.crs)
                                           : place_of_plot(options->plot, season.plan, opened.crs);
    const PlaceExplained place = explain(season, opened.layers, at);
    const std::string heading = options->plot.empty() ? "At " + options->at : "Plot " + options->plot;
    if (nothing_here(place))
      say(common, heading + ": no layer has data here, so no species has a score. That is not a score of 0.");
    else
      say(common, swardline::in_words(place, season, heading));
    CPLJSONObject json;
    json.Add("east", place.at.x);
    json.Add("north", place.at.y);
    CPLJSONArray species;
    for (const auto& [code, cell] : place.species)
      for (const Sheet& sheet : season.sheets)
        if (sheet.code == code) species.Add(species_json(code, sheet, cell));
    json.Add("species", species);
    add_findings(json, opened.flags);
    print_json(common, json);
    return Status::done;
  };
}

}  // namespace swardline::tool
