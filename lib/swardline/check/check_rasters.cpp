#include <fmt/format.h>

#include <atomic>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

struct Layer {
  std::size_t index;
  std::vector<Window> windows;
};

LayerFacts read_layer(const Layers& layers, const Layer& layer, int threads,
                      const std::function<void()>& step) {
  const LayerInfo& info = layers.infos()[layer.index];
  std::vector<LayerFacts> of_worker(static_cast<std::size_t>(threads));
  in_runs(layer.windows.size(), threads, [&](int worker, std::size_t begin, std::size_t end) {
    LayerReader reader(layers, {layer.index});
    Tile tile;
    for (std::size_t w = begin; w < end; ++w) {
      reader.read(layer.windows[w], tile);
      of_worker[std::size_t(worker)].add(info, tile.layers[0], layer.windows[w]);
      step();
    }
  });
  LayerFacts facts;
  for (const LayerFacts& part : of_worker) facts.add(part);
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

}  // namespace

std::vector<LayerFacts> read_facts(const Plan& plan, const Layers& layers, const SiteGround& ground,
                                   int threads, const Progress& progress, Flags& flags) {
  std::vector<Layer> all;
  std::int64_t count = 0;
  for (std::size_t i = 0; i < layers.infos().size(); ++i) {
    all.push_back({i, windows_of(layers, i, ground)});
    count += std::int64_t(all.back().windows.size());
  }
  std::int64_t cells = 0;
  for (const Layer& layer : all)
    for (const Window& window : layer.windows) cells += std::int64_t(window.cells());
  // A run worth a cup of coffee says what it is about.
  const std::string stage =
      cells < 1'000'000'000 ? "reading layers" : "reading layers, " + grouped(cells) + " cells";
  std::atomic<std::int64_t> done{0};
  std::vector<LayerFacts> facts;
  for (const Layer& layer : all) {
    const LayerInfo& info = layers.infos()[layer.index];
    try {
      facts.push_back(read_layer(layers, layer, threads, [&] {
        const std::int64_t now = ++done;
        if (progress) progress(stage, now, count);
      }));
      facts.back().whole = ground.whole_layers();
      if (!facts.back().whole) continue;
      const LayerSpec* spec = plan.layer(info.name);
      const bool beyond = facts.back().none > 0 && spec != nullptr && check_beyond(*spec, flags);
      if (facts.back().values == 0)
        flags.add(Severity::stop, "no data at all", info.place,
                  fmt::format("layer {} has no cell with data.", info.name),
                  beyond ? "What its cells hold is no number that a measure can have: get the raster again."
                         : "Look at the raster: another band, everything declared as no data, or another "
                           "place than [grid] extent?");
    } catch (const Error& error) {
      if (error.status() == Status::defect) throw;
      facts.emplace_back();
      facts.back().readable = false;
      // Slope, aspect and heat come from elevation's file, which has been named already.
      if (!info.derived)
        flags.add(Severity::stop, "layer cannot be read", info.place,
                  fmt::format("layer {}: {}", info.name, error.what()));
    }
  }
  return facts;
}

}  // namespace swardline::check_parts
