// Sixteen species side by side, against judging every cell by itself.
#include "swardline/habitat/byte_lanes.hpp"

#include <doctest/doctest.h>

#include <algorithm>

#include "fixture.hpp"
#include "swardline/base/random.hpp"
#include "swardline/habitat/lane_tally.hpp"
#include "swardline/habitat/step_tally.hpp"

namespace byte_lanes_test {

using namespace swardline;
using namespace habitat_test;

namespace {

const std::vector<std::string> byte_layers = {"bedrock",      "canopy",   "canopy_before",  "cover",
                                              "cover_before", "moisture", "moisture_before"};
constexpr int species_count = 37;  // more than one set of lanes with sums, the second not full

Response random_response(const std::string& layer, Numbers& numbers) {
  const bool cover = layer.starts_with("cover");
  if (cover || layer == "bedrock") {
    ClassTable table;
    for (const auto& [value, code] : cover ? cover_classes() : bedrock_classes()) {
      if (numbers.below(6) == 0)
        table.excluded.insert(code);
      else
        table.scores[code] = numbers.below(5) == 0 ? 1.0 : numbers.share();
    }
    table.otherwise = 0.5;
    return table;
  }
  std::vector<double> at;
  for (int i = 0; i < 4; ++i) at.push_back(double(numbers.below(101)));
  std::sort(at.begin(), at.end());
  for (std::size_t i = 1; i < at.size(); ++i) at[i] = std::max(at[i], at[i - 1] + 0.5);
  return Trapezoid{at[0], at[1], at[2], at[3]};
}

/// Factors of nearly all layers, so that no table holds them together; some layers are read twice.
Sheet random_sheet(int number, Numbers& numbers) {
  Sheet sheet;
  sheet.code = "S" + std::to_string(number);
  sheet.combine.rule = std::vector<Rule>{Rule::lowest, Rule::geometric, Rule::arithmetic,
                                         Rule::graded}[std::size_t(number % 4)];
  sheet.combine.limiting_power = std::vector<double>{0.6, 0.5, 1}[std::size_t(numbers.below(3))];
  if (numbers.below(2) == 0) sheet.combine.floor = 0.05;
  for (const std::string& layer : byte_layers) {
    const int times = layer == "canopy" ? 1 + numbers.below(2) : 1;
    for (int i = 0; i < times; ++i) {
      Factor factor = limiting(layer, random_response(layer, numbers));
      if (numbers.below(2) == 0) factor.role = Role::modifying;
      factor.weight = 0.5 + numbers.below(4);
      sheet.factors.push_back(factor);
    }
  }
  if (numbers.below(2) == 0) sheet.masks.push_back({"moisture", 95.0, 3.0, "", {}});
  return sheet;
}

struct Scene {
  Folder folder;
  Season season;
  Layers layers;
  Model model;
};

void open(Scene& scene, Numbers& numbers) {
  std::vector<Sheet> sheets;
  for (int i = 0; i < species_count; ++i) sheets.push_back(random_sheet(i, numbers));
  for (const std::string& layer : byte_layers) {
    Raster raster;
    raster.cols = raster.rows = 4;
    raster.values.assign(16, 3);
    write_raster(scene.folder / (layer + ".tif"), raster);
  }
  scene.season = season_in(scene.folder, std::move(sheets), byte_layers);
  for (LayerSpec& layer : scene.season.plan.layers)
    if (layer.name == "cover_before") layer.classes = cover_classes();
  Flags flags;
  scene.layers = Layers::open(scene.season.plan, Crs::from_text(scene.season.plan.crs),
                              layers_needed(scene.season), flags);
  scene.model = Model::compile(scene.season, scene.layers, flags);
  flags.throw_if_stopped();
}

/// Ground with everything on it: patches, no data, classes that no legend names.
Tile random_tile(const Model& model, Numbers& numbers) {
  Tile tile;
  tile.window = {0, 0, 61, 29};
  for (const LayerInfo& info : model.inside().infos) {
    LayerTile& layer = tile.layers.emplace_back();
    const bool classes = info.kind == LayerKind::classes;
    for (std::size_t i = 0; i < tile.window.cells(); ++i) {
      int raw = classes ? 1 + numbers.below(7) : numbers.below(101);
      if (numbers.below(25) == 0) raw = 255;
      layer.bytes.push_back(std::uint8_t(raw));
    }
  }
  return tile;
}

std::vector<std::uint8_t> bytes_at(const Tile& tile, std::size_t cell) {
  std::vector<std::uint8_t> bytes;
  for (const LayerTile& layer : tile.layers) bytes.push_back(layer.bytes[cell]);
  return bytes;
}

Verdict judged(const Model::Inside& model, std::size_t species, const Tile& tile, std::size_t cell) {
  const SpeciesPlan& plan = model.plans[species];
  std::vector<double> responses(plan.factors.size());
  RuleTree::Scratch scratch = plan.tree.scratch();
  return judge(plan, bytes_at(tile, cell), responses, scratch);
}

/// Of one set of lanes, by their tally.
template <typename LanesTally, typename Lanes>
void compare_areas(const Scene& scene, const Lanes& lanes, Numbers& numbers) {
  constexpr std::int64_t cell_mm2 = 100'000'000;
  constexpr std::size_t areas = 3;
  const Model::Inside& model = scene.model.inside();
  const std::size_t count = lanes.species().size();
  LanesTally one(lanes, model, areas), other(lanes, model, areas);
  std::vector<SiteSums> expected(areas * count);
  const auto expect = [&](std::size_t area, const Tile& tile, std::size_t cell, std::int64_t mm2) {
    for (std::size_t lane = 0; lane < count; ++lane) {
      const std::size_t s = lanes.species()[lane];
      const Verdict verdict = judged(model, s, tile, cell);
      SiteSums& sums = expected[area * count + lane];
      sums.mm2[SiteSums::slot(model.species[s], verdict.percent, verdict.held_down)] += mm2;
      const std::vector<std::size_t>& may_lack = model.plans[s].may_lack;
      if (verdict.percent != no_percent &&
          std::any_of(may_lack.begin(), may_lack.end(),
                      [&](std::size_t slot) { return tile.layers[slot].bytes[cell] == 255; }))
        sums.reweighted += mm2;
    }
  };
  for (int round = 0; round < 6; ++round) {
    const Tile tile = random_tile(scene.model, numbers);
    LanesTally& tally = round % 2 == 0 ? one : other;
    const auto area = std::size_t(numbers.below(areas));
    const auto first = std::size_t(numbers.below(300));
    const std::size_t cells = tile.window.cells() - first - std::size_t(numbers.below(300));
    tally.count(tile, first, cells);
    for (std::size_t cell = first; cell < first + cells; ++cell) expect(area, tile, cell, cell_mm2);
    tally.give_to(area, cell_mm2);
    const auto cut = std::size_t(numbers.below(int(tile.window.cells())));
    tally.add(area, tile, cut, 12'345);
    expect(area, tile, cut, 12'345);
  }
  one.add(other);
  for (std::size_t area = 0; area < areas; ++area) {
    for (std::size_t lane = 0; lane < count; ++lane) {
      const SiteSums &sums = one.sums(area, lane), &wanted = expected[area * count + lane];
      CHECK(sums.mm2 == wanted.mm2);
      CHECK(sums.reweighted == wanted.reweighted);
    }
  }
}

}  // namespace

TEST_CASE("lanes give every cell what judging it by itself gives, under every rule") {
  Numbers numbers(14);
  Scene scene;
  open(scene, numbers);
  const Model::Inside& model = scene.model.inside();
  REQUIRE(model.by_lanes.size() == 2);
  REQUIRE(model.lanes.size() == 3);
  REQUIRE(model.by_lanes[0]->species().size() == ByteLanes::lanes);
  REQUIRE(model.in_steps.size() > 4);
  REQUIRE(model.joint.empty());
  Scorer scorer(scene.model);
  ScoreTile scores;
  int scored = 0, none = 0, stood_in = 0;
  for (int round = 0; round < 12; ++round) {
    const Tile tile = random_tile(scene.model, numbers);
    scorer.score(tile, scores);
    for (std::size_t s = 0; s < species_count; ++s) {
      for (std::size_t cell = 0; cell < tile.window.cells(); ++cell) {
        const Verdict expected = judged(model, s, tile, cell);
        ++(expected.percent == no_percent ? none : scored);
        if (scores.species[s].percent[cell] != expected.percent ||
            scores.species[s].held_down[cell] != expected.held_down)
          FAIL(scene.model.species()[s].code, " cell ", cell, ": ", int(scores.species[s].percent[cell]),
               " held by ", int(scores.species[s].held_down[cell]), " against ", int(expected.percent),
               " by ", int(expected.held_down));
        if (expected.percent != no_percent)
          stood_in += std::any_of(model.plans[s].may_lack.begin(), model.plans[s].may_lack.end(),
                                  [&](std::size_t slot) { return tile.layers[slot].bytes[cell] == 255; })
                          ? 1
                          : 0;
      }
    }
  }
  CHECK(scored > 50'000);
  CHECK(none > 50'000);
  CHECK(stood_in > 5'000);
}

TEST_CASE("areas of lanes are those of judging cell by cell") {
  Numbers numbers(15);
  Scene scene;
  open(scene, numbers);
  const Model::Inside& model = scene.model.inside();
  for (const auto& lanes : model.lanes) compare_areas<LaneTally>(scene, *lanes, numbers);
  REQUIRE_FALSE(model.steps().empty());
  for (const auto& lanes : model.steps()) compare_areas<StepTally>(scene, *lanes, numbers);
}

}  // namespace byte_lanes_test
