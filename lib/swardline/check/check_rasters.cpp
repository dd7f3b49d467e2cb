#include <fmt/format.h>

#include <atomic>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/check/raster_facts.hpp"
#include "swardline/grid/cover.hpp"

namespace swardline::check_parts {
namespace {

// Ranges a unit can have; common practice for each.
struct UnitRange {
  const char* unit;
  double low, high;
};
constexpr UnitRange unit_ranges[] = {{"percent", 0, 100}, {"fraction", 0, 1},  {"index", -10, 10},
                                     {"m", -500, 9000},   {"degrees", 0, 360}, {"celsius", -90, 60}};

std::vector<LayerFacts> gather(const Layers& layers, int threads, const Progress& progress) {
  const std::vector<Window> windows = layers.reading_windows(layers.extent());
  const std::size_t count = layers.infos().size();
  const std::vector<LayerFacts> nothing(count);
  std::vector<std::vector<LayerFacts>> of_worker(static_cast<std::size_t>(threads), nothing);
  std::atomic<std::int64_t> done{0};
  in_runs(windows.size(), threads, [&](int worker, std::size_t begin, std::size_t end) {
    LayerReader reader(layers);
    Tile tile;
    for (std::size_t w = begin; w < end; ++w) {
      reader.read(windows[w], tile);
      for (std::size_t i = 0; i < count; ++i)
        of_worker[std::size_t(worker)][i].add(layers.infos()[i], tile.layers[i], windows[w]);
      if (progress) progress("reading layers", ++done, std::int64_t(windows.size()));
    }
  });
  std::vector<LayerFacts> facts(count);
  for (const auto& part : of_worker)
    for (std::size_t i = 0; i < count; ++i) facts[i].add(part[i]);
  return facts;
}

void check_classes(const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  for (const auto& [value, cells] : facts.class_cells)
    if (info.classes.count(value) == 0)
      flags.add(
          Severity::stop, "unknown class", info.place,
          fmt::format("{} value {} ({} cells) is in no legend.", info.name, value, grouped(cells)),
          "Name it under classes, or mend the raster: averaging a class layer makes values nobody defined.");
  std::vector<std::string> unused;
  for (const auto& [value, code] : info.classes)
    if (facts.class_cells.count(value) == 0) unused.push_back(code);
  if (!unused.empty())
    flags.add(Severity::note, "class not met", info.place,
              fmt::format("layer {} has no cell of {}.", info.name, in_words(unused)), "");
}

void check_range(const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  const std::string runs =
      fmt::format("{} runs {}–{}", info.name, shortest(std::round(facts.low * 1000) / 1000),
                  shortest(std::round(facts.high * 1000) / 1000));
  for (const UnitRange& range : unit_ranges) {
    if (info.unit != range.unit) continue;
    if (facts.low < range.low || facts.high > range.high) {
      std::string guess = "Correct the unit or the raster.";
      if (info.unit == "percent" && facts.low >= 0 && facts.high <= 1000)
        guess = "Scaled by 10? Set scale = 0.1 or unit.";
      else if (info.unit == "fraction" && facts.low >= 0 && facts.high <= 100)
        guess = "In percent? Set scale = 0.01 or unit = \"percent\".";
      else if (info.unit == "m" && facts.low >= -1640 && facts.high <= 29530)
        guess = "In feet? Set scale = 0.3048.";
      flags.add(Severity::stop, "range does not fit unit", info.place,
                fmt::format("{} but is declared {}.", runs, info.unit), guess);
    } else if (info.unit == "percent" && facts.high <= 1 && facts.high > 0) {
      flags.add(Severity::ask, "range does not fit unit", info.place,
                fmt::format("{} and is declared percent.", runs), "A fraction from 0 to 1? Set scale = 100.");
    } else if (info.unit == "degrees" && info.name.find("slope") != std::string::npos && facts.high > 90) {
      flags.add(Severity::stop, "range does not fit unit", info.place,
                fmt::format("{} but no slope is over 90 degrees.", runs), "In percent? 45 % is 24 degrees.");
    }
    return;
  }
  if (info.unit.empty() && !info.derived)
    flags.add(Severity::note, "no unit", info.place,
              fmt::format("{}; no unit is declared, so the range was not checked.", runs),
              "Set unit, e.g. unit = \"percent\".");
}

// Zeros far below every other value, in a layer that declares no missing data, are usually missing data.
void check_zeros(const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  const double share = facts.values > 0 ? double(facts.zeros) / double(facts.values) : 0;
  const bool apart = facts.low >= 0 && facts.low_above_zero > 0.02 * (facts.high - facts.low);
  if (facts.none == 0 && share > 0.0005 && share < 0.9 && apart && facts.low_above_zero > 1)
    flags.add(Severity::ask, "zeros", info.place,
              fmt::format("{} cells of {} are exactly 0 and the next value is {}: missing data stored as 0?",
                          grouped(facts.zeros), info.name, shortest(facts.low_above_zero)),
              "If so, declare 0 as no data in the raster; it would be scored as a real 0.");
}

bool has_none(const LayerInfo& info, const LayerTile& tile, std::size_t cell) {
  return info.bytes ? info.byte_none[tile.bytes[cell]] : std::isnan(tile.values[cell]);
}

// Survey area of a site without data, layer by layer, in exact covered areas.
void check_reach(const Site& site, const Layers& layers, LayerReader& reader, Flags& flags) {
  const std::vector<LayerInfo>& infos = layers.infos();
  std::vector<std::int64_t> without(infos.size());
  std::int64_t all = 0;
  std::vector<std::int64_t> cover;
  Tile tile;
  for (const BlockPiece& piece : cut_into_blocks(site.survey, layers.grid())) {
    cover.assign(std::size_t(block_cells) * block_cells, 0);
    add_cover(piece, layers.grid(), cover);
    reader.read(piece.block.window(), tile);
    for (std::size_t cell = 0; cell < cover.size(); ++cell) {
      if (cover[cell] == 0) continue;
      all += cover[cell];
      for (std::size_t i = 0; i < infos.size(); ++i)
        if (has_none(infos[i], tile.layers[i], cell)) without[i] += cover[cell];
    }
  }
  if (all == 0) return;
  for (std::size_t i = 0; i < infos.size(); ++i) {
    const double share = double(without[i]) / double(all);
    if (infos[i].name == "aspect" || share == 0) continue;  // flat ground has no aspect
    const std::string meaning = fmt::format("{} has no data on {:.1f} % of {} ({}).", infos[i].name,
                                            100 * share, site.code, hectares(double(without[i]) * 1e-6));
    if (share >= 1)
      flags.add(Severity::stop, "site outside the layers", site.place,
                fmt::format("{} lies wholly where {} has no data.", site.code, infos[i].name),
                "Get a raster that reaches the site, or take the site out with [sites] only.");
    else if (share > 0.005)
      flags.add(Severity::ask, "layer stops short", infos[i].place, meaning,
                "That ground gets no score (or is re-weighted). Get a raster that reaches it if you can.");
    else
      flags.add(Severity::note, "layer stops short", infos[i].place, meaning, "");
  }
}

}  // namespace

void check_rasters(const Season& season, const Layers& layers, const Sites& sites, int threads,
                   const Progress& progress, Flags& flags) {
  if (layers.infos().empty()) return;
  const std::vector<LayerFacts> facts = gather(layers, threads, progress);
  for (std::size_t i = 0; i < facts.size(); ++i) {
    const LayerInfo& info = layers.infos()[i];
    if (facts[i].values == 0) {
      flags.add(Severity::stop, "no data at all", info.place,
                fmt::format("layer {} has no cell with data.", info.name),
                "Look at the raster: wrong band, or everything declared as no data?");
      continue;
    }
    if (info.kind == LayerKind::classes) {
      check_classes(info, facts[i], flags);
    } else if (season.plan.layer(info.name) != nullptr) {
      check_range(info, facts[i], flags);
      check_zeros(info, facts[i], flags);
    }
  }
  LayerReader reader(layers);
  for (const Site& site : sites.sites)
    if (!site.survey.empty()) check_reach(site, layers, reader, flags);
}

}  // namespace swardline::check_parts
