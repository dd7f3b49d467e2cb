#include <fmt/format.h>

#include <atomic>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

/// Layers that are read together: elevation and what is made of it, so that its file is decoded once.
struct Together {
  std::vector<std::size_t> layers;  ///< indices
  std::vector<Window> windows;
};

std::vector<LayerFacts> read_together(const Layers& layers, const Together& group, int threads,
                                      const std::function<void()>& step) {
  const std::size_t count = group.layers.size();
  std::vector<std::vector<LayerFacts>> of_worker(static_cast<std::size_t>(threads),
                                                 std::vector<LayerFacts>(count));
  in_runs(group.windows.size(), threads, [&](int worker, std::size_t begin, std::size_t end) {
    LayerReader reader(layers, group.layers);
    Tile tile;
    for (std::size_t w = begin; w < end; ++w) {
      reader.read(group.windows[w], tile);
      for (std::size_t i = 0; i < count; ++i)
        of_worker[std::size_t(worker)][i].add(layers.infos()[group.layers[i]], tile.layers[i],
                                              group.windows[w]);
      step();
    }
  });
  std::vector<LayerFacts> facts(count);
  for (const std::vector<LayerFacts>& part : of_worker)
    for (std::size_t i = 0; i < count; ++i) facts[i].add(part[i]);
  return facts;
}

std::vector<Window> windows_of(const Layers& layers, std::size_t layer, const SiteGround& ground) {
  // Its own ground only: a layer that lies far away must not make this pass cross the land between.
  const Window own = intersect(layers.infos()[layer].extent, layers.extent());
  if (ground.whole_layers()) return layers.reading_windows(own);
  std::vector<Window> windows;
  for (const SiteGround::Looked& looked : ground.blocks()) {
    const Window window = intersect(own, looked.block.window());
    if (!window.empty()) windows.push_back(window);
  }
  return windows;
}

std::vector<Together> in_groups(const Layers& layers, const SiteGround& ground) {
  std::vector<Together> groups;
  std::optional<std::size_t> of_elevation;
  for (std::size_t i = 0; i < layers.infos().size(); ++i) {
    const LayerInfo& info = layers.infos()[i];
    const bool of_heights = info.derived || info.name == "elevation";
    if (of_heights && of_elevation) {
      groups[*of_elevation].layers.push_back(i);
      continue;
    }
    if (of_heights) of_elevation = groups.size();
    groups.push_back({{i}, windows_of(layers, i, ground)});
  }
  return groups;
}

/// Of a layer that was read whole: whether it holds anything at all.
void say_empty(const Plan& plan, const LayerInfo& info, const LayerFacts& facts, Flags& flags) {
  const LayerSpec* spec = plan.layer(info.name);
  const bool beyond = facts.none > 0 && spec != nullptr && check_beyond(*spec, flags);
  if (facts.values > 0) return;
  flags.add(Severity::stop, "no data at all", info.place,
            fmt::format("layer {} has no cell with data.", info.name),
            beyond ? "What its cells hold is no number that a measure can have: get the raster again."
                   : "Look at the raster: another band, everything declared as no data, or another "
                     "place than [grid] extent?");
}

}  // namespace

std::vector<LayerFacts> read_facts(const Plan& plan, const Layers& layers, const SiteGround& ground,
                                   int threads, const Progress& progress, Flags& flags) {
  const std::vector<Together> groups = in_groups(layers, ground);
  std::int64_t count = 0, cells = 0;
  for (const Together& group : groups) {
    count += std::int64_t(group.windows.size());
    for (const Window& window : group.windows)
      cells += std::int64_t(window.cells()) * std::int64_t(group.layers.size());
  }
  // A run worth a cup of coffee says what it is about.
  const std::string stage =
      cells < 1'000'000'000 ? "reading layers" : "reading layers, " + grouped(cells) + " cells";
  std::atomic<std::int64_t> done{0};
  std::vector<LayerFacts> facts(layers.infos().size());
  for (const Together& group : groups) {
    try {
      std::vector<LayerFacts> met = read_together(layers, group, threads, [&] {
        const std::int64_t now = ++done;
        if (progress) progress(stage, now, count);
      });
      for (std::size_t i = 0; i < met.size(); ++i) facts[group.layers[i]] = std::move(met[i]);
    } catch (const Error& error) {
      if (error.status() == Status::defect) throw;
      for (const std::size_t i : group.layers) {
        const LayerInfo& info = layers.infos()[i];
        facts[i].readable = false;
        // Slope, aspect and heat come from elevation's file, which has been named already.
        if (!info.derived)
          flags.add(Severity::stop, "layer cannot be read", info.place,
                    fmt::format("layer {}: {}", info.name, error.what()));
      }
    }
  }
  for (std::size_t i = 0; i < facts.size(); ++i) {
    if (!facts[i].readable) continue;
    facts[i].whole = ground.whole_layers();
    if (facts[i].whole) say_empty(plan, layers.infos()[i], facts[i], flags);
  }
  return facts;
}

}  // namespace swardline::check_parts
