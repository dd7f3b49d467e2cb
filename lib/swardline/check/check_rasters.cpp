#include <fmt/format.h>

#include <atomic>

#include "swardline/base/error.hpp"
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

}  // namespace

std::vector<LayerFacts> read_facts(const Layers& layers, int threads, const Progress& progress,
                                   Flags& flags) {
  std::vector<Layer> all;
  std::int64_t count = 0;
  for (std::size_t i = 0; i < layers.infos().size(); ++i) {
    // Its own ground only: a layer that lies far away must not make this pass cross the land between.
    all.push_back({i, layers.reading_windows(intersect(layers.infos()[i].extent, layers.extent()))});
    count += std::int64_t(all.back().windows.size());
  }
  std::atomic<std::int64_t> done{0};
  std::vector<LayerFacts> facts;
  for (const Layer& layer : all) {
    const LayerInfo& info = layers.infos()[layer.index];
    try {
      facts.push_back(read_layer(layers, layer, threads, [&] {
        const std::int64_t now = ++done;
        if (progress) progress("reading layers", now, count);
      }));
      if (facts.back().values == 0)
        flags.add(Severity::stop, "no data at all", info.place,
                  fmt::format("layer {} has no cell with data.", info.name),
                  "Look at the raster: another band, everything declared as no data, or another place than "
                  "[grid] extent?");
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
