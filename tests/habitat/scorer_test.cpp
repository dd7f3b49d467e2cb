#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <map>

#include "fixture.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/habitat/step_tally.hpp"

namespace scorer_test {

using namespace swardline;
using namespace habitat_test;

namespace {

constexpr int cols = 60, rows = 45, sheet_count = 150;
const std::map<long long, std::string> soil_classes{{-3, "CLAY"}, {300, "SILT"}, {1000, "LOAM"}};
const std::vector<std::string> measures{"moisture", "canopy", "warmth", "elevation"};
const std::vector<std::string> byte_layers{"cover", "bedrock", "moisture", "canopy"};

using Grids = std::map<std::string, Raster>;

bool is_none(const Raster& raster, double value) { return std::isnan(value) || value == raster.none; }

/// Rasters with every kind of trouble: no data, NaN, infinite cells, values no legend names.
Grids random_grids(Numbers& numbers) {
  Grids grids;
  for (const char* name : {"cover", "bedrock", "moisture", "canopy", "warmth", "elevation", "soil"}) {
    Raster raster;
    raster.cols = cols;
    raster.rows = rows;
    const std::string layer = name;
    if (layer == "warmth" || layer == "elevation") {
      raster.type = Raster::Type::real;
      raster.none = -9999;
    }
    if (layer == "soil") {
      raster.type = Raster::Type::whole;
      raster.none = -32768;
    }
    for (int i = 0; i < cols * rows; ++i) {
      double value = 0;
      if (layer == "cover") value = 1 + numbers.below(12);
      if (layer == "bedrock") value = 1 + numbers.below(6);
      if (layer == "moisture") value = numbers.below(101);
      if (layer == "canopy") value = numbers.below(101);
      if (layer == "warmth") value = double(float(0.6 + 0.6 * numbers.share()));
      if (layer == "elevation") value = 100 + numbers.below(201);
      if (layer == "soil") value = std::vector<double>{-3, 300, 1000}[std::size_t(numbers.below(3))];
      if (numbers.below(12) == 0) value = raster.none;
      if (raster.type == Raster::Type::real && numbers.below(30) == 0)
        value = numbers.below(2) ? std::numeric_limits<double>::quiet_NaN() : inf;
      if (layer == "cover" && numbers.below(40) == 0) value = 57;
      if (layer == "soil" && numbers.below(40) == 0) value = 301;
      raster.values.push_back(value);
    }
    grids.emplace(layer, std::move(raster));
  }
  return grids;
}

ClassTable random_table(const std::map<long long, std::string>& classes, Numbers& numbers) {
  ClassTable table;
  for (const auto& [value, code] : classes) {
    const int kind = numbers.below(6);
    if (kind == 0)
      table.excluded.insert(code);
    else if (kind < 5)
      table.scores[code] = numbers.below(4) == 0 ? double(numbers.below(2)) : numbers.share();
  }
  table.otherwise = numbers.below(3) * 0.25;
  return table;
}

Response random_response(const std::string& layer, Numbers& numbers) {
  if (layer == "cover") return random_table(cover_classes(), numbers);
  if (layer == "bedrock") return random_table(bedrock_classes(), numbers);
  if (layer == "soil") return random_table(soil_classes, numbers);
  double low = 0, high = 100;
  if (layer == "warmth") low = 0.6, high = 1.2;
  if (layer == "elevation") low = 100, high = 300;
  std::vector<double> at;
  for (int i = 0; i < 4; ++i) at.push_back(low + (high - low) * numbers.share());
  if (layer != "warmth")  // whole corners, so that cells lie on them exactly
    for (double& corner : at) corner = std::floor(corner);
  std::sort(at.begin(), at.end());
  for (std::size_t i = 1; i < at.size(); ++i) at[i] = std::max(at[i], at[i - 1] + 0.5);
  if (numbers.below(3) == 0)
    return Polyline{{{at[0], numbers.share()}, {at[1], 1}, {at[2], numbers.share()}, {at[3], 0}}};
  switch (numbers.below(4)) {
    case 0:
      return Trapezoid{-inf, -inf, at[2], at[3]};
    case 1:
      return Trapezoid{at[0], at[1], inf, inf};
    case 2:
      return Trapezoid{at[0], at[0], at[3], at[3]};
    default:
      return Trapezoid{at[0], at[1], at[2], at[3]};
  }
}

Combine random_combine(Numbers& numbers) {
  Combine combine;
  combine.rule = std::vector<Rule>{Rule::lowest, Rule::geometric, Rule::arithmetic, Rule::graded,
                                   Rule::graded}[std::size_t(numbers.below(5))];
  combine.limiting_power = std::vector<double>{0.6, 0.5, 0, 1}[std::size_t(numbers.below(4))];
  if (numbers.below(3) == 0) combine.floor = 0.05;
  return combine;
}

Sheet random_sheet(int number, Numbers& numbers) {
  Sheet sheet;
  sheet.code = "S" + std::to_string(number);
  sheet.combine = random_combine(numbers);
  std::vector<std::string> layers = byte_layers;
  if (numbers.below(2)) layers.insert(layers.end(), {"warmth", "elevation", "soil"});
  const int factors = 1 + numbers.below(5);
  for (int f = 0; f < factors; ++f) {
    const std::string layer = layers[std::size_t(numbers.below(int(layers.size())))];
    Factor factor = limiting(layer, random_response(layer, numbers));
    factor.role = numbers.below(2) ? Role::limiting : Role::modifying;
    factor.weight = 0.5 + numbers.below(4);
    sheet.factors.push_back(factor);
  }
  if (numbers.below(3) == 0) {
    for (const char* name : {"g", "h"}) {
      Group group;
      group.name = name;
      group.role = numbers.below(2) ? Role::limiting : Role::modifying;
      group.weight = 1 + numbers.below(3);
      group.combine = random_combine(numbers);
      sheet.groups.push_back(group);
    }
    if (numbers.below(2)) sheet.groups[1].within = "g";
    for (Factor& factor : sheet.factors)
      factor.group = std::vector<std::string>{"", "g", "h"}[std::size_t(numbers.below(3))];
  }
  if (numbers.below(3) == 0) sheet.masks.push_back({"elevation", 260.0, {}, "", {}});
  if (numbers.below(3) == 0) sheet.masks.push_back({"canopy", 95.0, 3.0, "", {}});
  return sheet;
}

LayerValue value_at(const Grids& grids, const std::string& layer, std::size_t cell) {
  const Raster& raster = grids.at(layer);
  const double value = raster.values[cell];
  LayerValue out;
  out.none = is_none(raster, value) || std::isinf(value);
  if (out.none) return out;
  out.number = value;
  const auto& classes = layer == "cover"     ? cover_classes()
                        : layer == "bedrock" ? bedrock_classes()
                                             : soil_classes;
  if (layer == "cover" || layer == "bedrock" || layer == "soil")
    if (const auto found = classes.find((long long)(value)); found != classes.end())
      out.class_code = found->second;
  return out;
}

/// Category text the plain score stands for.
std::string category(const Sheet& sheet, const CellScore& cell) {
  if (cell.outcome == Outcome::excluded) return "excluded: " + cell.reason;
  if (cell.outcome == Outcome::no_score) return "no data: " + cell.reason.substr(0, cell.reason.find(" ("));
  return cell.held_down_by ? sheet.factors[*cell.held_down_by].layer : "nothing";
}

std::string without_group(const std::string& text) {
  return text.starts_with("excluded") ? text : text.substr(0, text.find(" ("));
}

/// The grids as layers, soil with its classes, and the sheets.
Season season_of(const Folder& folder, const Grids& grids, const std::vector<Sheet>& sheets) {
  std::vector<std::string> layers;
  for (const auto& [name, raster] : grids) {
    write_raster(folder / (name + ".tif"), raster);
    layers.push_back(name);
  }
  Season season = season_in(folder, sheets, layers);
  for (LayerSpec& layer : season.plan.layers)
    if (layer.name == "soil") layer.classes = soil_classes;
  return season;
}

}  // namespace

TEST_CASE("Compiled rules give what the plain rule gives, on random rules and random ground") {
  Numbers numbers(20270318);
  const Folder folder;
  const Grids grids = random_grids(numbers);
  std::vector<Sheet> sheets;
  for (int i = 0; i < sheet_count; ++i) sheets.push_back(random_sheet(i, numbers));
  const Season season = season_of(folder, grids, sheets);
  const Compiled compiled(season);
  const Layers& opened = compiled.opened;
  const Model& model = compiled.model;
  REQUIRE(model.species().size() == sheets.size());

  LayerReader reader(opened, model.layers_needed());
  Scorer scorer(model, true);
  Tile tile;
  ScoreTile scores;
  const Window extent = opened.extent();
  REQUIRE(extent.cells() == std::size_t(cols * rows));
  reader.read(extent, tile);
  scorer.score(tile, scores);
  // Whole percents alone go other ways for some species.
  Scorer whole(model);
  ScoreTile whole_scores;
  whole.score(tile, whole_scores);
  for (std::size_t s = 0; s < sheets.size(); ++s) {
    CHECK_MESSAGE(whole_scores.species[s].percent == scores.species[s].percent, sheets[s].code);
    CHECK_MESSAGE(whole_scores.species[s].held_down == scores.species[s].held_down, sheets[s].code);
  }

  int compared = 0, scored = 0, excluded = 0, lacking = 0;
  for (std::size_t s = 0; s < sheets.size(); ++s) {
    const SpeciesTile& species = scores.species[s];
    for (std::size_t cell = 0; cell < extent.cells(); ++cell) {
      const CellScore plain =
          score_cell(sheets[s], [&](const std::string& layer) { return value_at(grids, layer, cell); });
      const std::string held = model.species()[s].categories[species.held_down[cell]].text;
      ++compared;
      if (plain.outcome == Outcome::scored) {
        ++scored;
        const double hundred = 100 * plain.score;
        if (std::abs(hundred - std::floor(hundred) - 0.5) > 1e-3 &&
            species.percent[cell] != percent(plain.score))
          FAIL(sheets[s].code, " cell ", cell, ": ", int(species.percent[cell]), " against ", plain.score);
        if (std::abs(double(species.score[cell]) - plain.score) > 1e-6)
          FAIL(sheets[s].code, " cell ", cell, ": ", species.score[cell], " against ", plain.score);
      } else {
        ++(plain.outcome == Outcome::excluded ? excluded : lacking);
        if (species.percent[cell] != no_percent || !std::isnan(species.score[cell]))
          FAIL(sheets[s].code, " cell ", cell, " has a score and should have none");
      }
      if (without_group(held) != category(sheets[s], plain))
        FAIL(sheets[s].code, " cell ", cell, ": ", held, " against ", category(sheets[s], plain));
    }
  }
  CHECK(compared == sheet_count * cols * rows);
  CHECK(scored > compared / 5);
  CHECK(excluded > compared / 50);
  CHECK(lacking > compared / 50);

  std::int64_t cover57 = 0, soil301 = 0;
  for (std::size_t cell = 0; cell < extent.cells(); ++cell) {
    cover57 += grids.at("cover").values[cell] == 57 ? 1 : 0;
    soil301 += grids.at("soil").values[cell] == 301 ? 1 : 0;
  }
  std::map<std::string, std::pair<long long, std::int64_t>> unknown;
  for (const auto& met : scorer.unknown_classes()) {
    CHECK_FALSE(unknown.contains(met.layer));
    unknown[met.layer] = {met.value, met.cells};
  }
  CHECK(unknown["cover"] == std::pair<long long, std::int64_t>{57, cover57});
  CHECK(unknown["soil"] == std::pair<long long, std::int64_t>{301, soil301});
}

TEST_CASE("Site tables of measures are those of scoring cell by cell") {
  Numbers numbers(20270319);
  const Folder folder;
  const Grids grids = random_grids(numbers);
  std::vector<Sheet> sheets;
  for (int i = 0; i < sheet_count; ++i) {
    Sheet sheet = random_sheet(i, numbers);
    sheet.combine.rule = Rule::lowest;
    sheet.groups.clear();
    for (Factor& factor : sheet.factors) factor.group.clear();
    sheets.push_back(std::move(sheet));
  }
  const Season season = season_of(folder, grids, sheets);
  const Compiled compiled(season);
  const Layers& opened = compiled.opened;
  const Model& model = compiled.model;
  LayerReader reader(opened, model.layers_needed());
  Scorer scorer(model);
  Tile tile;
  ScoreTile scores;
  const std::size_t cells = opened.extent().cells(), cut = 100;
  reader.read(opened.extent(), tile);
  scorer.score(tile, scores);
  std::size_t in_steps = 0;
  for (const auto& lanes : model.inside().steps()) {
    StepTally tally(*lanes, model.inside(), 2);
    tally.count(tile, 0, cells - cut);
    tally.give_to(1, 1);
    for (std::size_t cell = cells - cut; cell < cells; ++cell) tally.add(1, tile, cell, 1);
    for (std::size_t lane = 0; lane < lanes->species().size(); ++lane) {
      const std::size_t s = lanes->species()[lane];
      SiteSums expected;
      for (std::size_t cell = 0; cell < cells; ++cell) {
        const std::uint8_t met = scores.species[s].percent[cell];
        ++expected.mm2[SiteSums::slot(model.species()[s], met, scores.species[s].held_down[cell])];
        if (met != no_percent && others_stand_in(model.inside(), s, tile, cell)) ++expected.reweighted;
      }
      CHECK_MESSAGE(tally.sums(1, lane).mm2 == expected.mm2, sheets[s].code);
      CHECK_MESSAGE(tally.sums(1, lane).reweighted == expected.reweighted, sheets[s].code);
      ++in_steps;
    }
  }
  CHECK(in_steps > 30);
  CHECK(model.inside().steps().size() > 1);
}

TEST_CASE("A window's scores do not depend on the window they were asked for in") {
  Numbers numbers(7);
  const Folder folder;
  const Grids grids = random_grids(numbers);
  std::vector<Sheet> sheets;
  for (int i = 0; i < 6; ++i) sheets.push_back(random_sheet(i, numbers));
  const Season season = season_of(folder, grids, sheets);
  const Compiled compiled(season);
  const Layers& opened = compiled.opened;
  const Model& model = compiled.model;
  LayerReader reader(opened, model.layers_needed());
  Scorer whole(model), part(model);
  Tile tile;
  ScoreTile all, some;
  const Window extent = opened.extent();
  reader.read(extent, tile);
  whole.score(tile, all);
  const Window window{extent.col + 7, extent.row + 5, 31, 17};
  reader.read(window, tile);
  part.score(tile, some);
  for (std::size_t s = 0; s < sheets.size(); ++s)
    for (int y = 0; y < window.rows; ++y)
      for (int x = 0; x < window.cols; ++x) {
        const std::size_t a = std::size_t((y + 5) * cols + x + 7), b = std::size_t(y * window.cols + x);
        REQUIRE(all.species[s].percent[a] == some.species[s].percent[b]);
        REQUIRE(all.species[s].held_down[a] == some.species[s].held_down[b]);
      }
}

TEST_CASE("A factor whose layer was not opened is a STOP that names both") {
  const Folder folder;
  Numbers numbers(3);
  const Grids grids = random_grids(numbers);
  for (const char* name : {"cover", "moisture", "bedrock"})
    write_raster(folder / (std::string(name) + ".tif"), grids.at(name));
  Season season = season_in(folder, {pcob()}, {"cover", "moisture", "bedrock"});
  Flags flags;
  const Layers opened =
      Layers::open(season.plan, Crs::from_text(season.plan.crs), {"cover", "moisture", "bedrock"}, flags);
  const Model model = Model::compile(season, opened, flags);
  CHECK(flags.stopped());
  CHECK(model.species().empty());
  const auto is_said = [](const Flag& flag) {
    return flag.meaning.find("canopy is in the rule but no canopy layer was given") != std::string::npos;
  };
  CHECK(std::any_of(flags.all().begin(), flags.all().end(), is_said));
}

TEST_CASE("A layer that is in the plan and could not be opened has one cause, which opening it names") {
  const Folder folder;
  Numbers numbers(3);
  const Grids grids = random_grids(numbers);
  std::vector<std::string> layers;
  for (const auto& [name, raster] : grids) {
    layers.push_back(name);
    if (name != "canopy") write_raster(folder / (name + ".tif"), raster);
  }
  const Season season = season_in(folder, {pcob()}, layers);
  Flags flags;
  const Layers opened =
      Layers::open(season.plan, Crs::from_text(season.plan.crs), layers_needed(season), flags);
  const int before = flags.count(Severity::stop);
  CHECK(before == 1);
  CHECK(Model::compile(season, opened, flags).species().empty());
  CHECK(flags.count(Severity::stop) == before);
  Flags fresh;  // where nobody kept what opening said, compiling still stops
  (void)Model::compile(season, opened, fresh);
  REQUIRE(fresh.count(Severity::stop) == 1);
  CHECK(fresh.all()[0].check == "layer not opened");
}

TEST_CASE("Held-down categories name factors, exclusions and missing layers apart") {
  const Folder folder;
  Numbers numbers(4);
  const Grids grids = random_grids(numbers);
  for (const auto& [name, raster] : grids) write_raster(folder / (name + ".tif"), raster);
  Sheet sheet = ptub();
  sheet.factors[3].layer = "warmth";
  Season season = season_in(folder, {sheet}, {"cover", "moisture", "canopy", "warmth", "elevation"});
  const Compiled compiled(season);
  const Model& model = compiled.model;
  std::vector<std::string> texts;
  for (const HeldDown& category : model.species().front().categories) texts.push_back(category.text);
  CHECK(texts == std::vector<std::string>{"nothing", "moisture", "cover", "canopy", "warmth",
                                          "excluded: cover OW", "excluded: cover CR", "excluded: cover DV",
                                          "excluded: elevation at or above 260", "no data: moisture",
                                          "no data: cover", "no data: elevation"});
}

}  // namespace scorer_test
