#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <mutex>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/grid/cover.hpp"

namespace swardline::check_parts {
namespace {

constexpr double worth_asking = 0.005;  // share of a site without data

bool has_none(const LayerInfo& info, const LayerTile& tile, std::size_t cell) {
  return info.bytes ? info.byte_none[tile.bytes[cell]] : std::isnan(tile.values[cell]);
}

// Covered square millimetres of one site: in all, and where each layer has no data.
struct Reach {
  std::int64_t all = 0;
  std::vector<std::int64_t> without;  // beside `which`
};

// Beside the sites.
std::vector<Reach> reaches_of(const Sites& sites, const SiteGround& ground, const Layers& layers,
                              const std::vector<std::size_t>& which, int threads) {
  const Reach none{0, std::vector<std::int64_t>(which.size(), 0)};
  std::vector<Reach> reaches(sites.sites.size(), none);
  std::mutex guard;
  const std::vector<const SiteGround::Looked*> blocks = ground.blocks_of_whole_sites();
  in_runs(blocks.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    LayerReader reader(layers, which);
    BlockCover cover;
    Tile tile;
    for (std::size_t b = begin; b < end; ++b) {
      const SiteGround::Looked& looked = *blocks[b];
      reader.read(looked.block.window(), tile);
      for (const SiteGround::Piece& piece : looked.pieces) {
        if (!ground.all_of(piece.site)) continue;
        Reach here = none;
        cover_of(piece.ground, layers.grid(), cover);
        cover.each(cell_mm2(layers.grid()), [&](std::size_t cell, std::int64_t mm2) {
          here.all += mm2;
          for (std::size_t i = 0; i < which.size(); ++i)
            if (has_none(layers.infos()[which[i]], tile.layers[i], cell)) here.without[i] += mm2;
        });
        const std::lock_guard lock(guard);
        Reach& reach = reaches[piece.site];
        reach.all += here.all;
        for (std::size_t i = 0; i < which.size(); ++i) reach.without[i] += here.without[i];
      }
    }
  });
  // Not all of a site is known: only that a layer which ends before it says nothing about it.
  for (std::size_t s = 0; s < reaches.size(); ++s) {
    if (ground.all_of(s)) continue;
    const Window around = layers.grid().covering(sites.sites[s].survey.box());
    reaches[s].all = 1;
    for (std::size_t i = 0; i < which.size(); ++i)
      reaches[s].without[i] = intersect(layers.infos()[which[i]].extent, around).empty() ? 1 : 0;
  }
  return reaches;
}

// Layers worth a word: those that could be read and hold something. Flat ground has no aspect, and what is
// made from elevation reaches as far as it does.
std::vector<std::size_t> layers_with_data(const Layers& layers, const std::vector<LayerFacts>& facts) {
  std::vector<std::size_t> which;
  for (std::size_t i = 0; i < facts.size(); ++i)
    if (facts[i].readable && (facts[i].values > 0 || !facts[i].whole) && !layers.infos()[i].derived)
      which.push_back(i);
  return which;
}

void say_short(const Site& site, const Reach& reach, const std::vector<std::string>& names, Flags& flags) {
  // Layers that stop at the same place are said together.
  std::map<std::int64_t, std::vector<std::string>, std::greater<>> by_area;
  for (std::size_t i = 0; i < names.size(); ++i)
    if (reach.without[i] > 0) by_area[reach.without[i]].push_back(names[i]);
  for (const auto& [mm2, list] : by_area) {
    const double share = double(mm2) / double(reach.all);
    const char* have = list.size() == 1 ? "has" : "have";
    if (mm2 == reach.all) {
      flags.add(Severity::stop, "site outside the layers", site.place,
                fmt::format("{} lies wholly where {} {} no data.", site.code, in_words(list), have),
                "Get a raster that reaches it, or leave the site out (only, under [sites]).");
      continue;
    }
    const std::string percent = share < 0.0005   ? "under 0.1"
                                : share > 0.9995 ? "over 99.9"
                                                 : fmt::format("{:.1f}", 100 * share);
    const bool ask = share > worth_asking;
    flags.add(
        ask ? Severity::ask : Severity::note, "layer stops short", site.place,
        fmt::format("{} {} no data on {} % of {} ({}).", in_words(list), have, percent, site.code,
                    hectares(double(mm2) * 1e-6)),
        ask ? "Where a limiting factor is missing there is no score. Get a raster that reaches it if you "
              "can."
            : "");
  }
}

}  // namespace

void check_reach(const Layers& layers, const std::vector<LayerFacts>& facts, const Sites& sites,
                 const SiteGround& ground, int threads, Flags& flags) {
  const std::vector<std::size_t> which = layers_with_data(layers, facts);
  if (which.empty()) return;
  std::vector<Reach> reaches = reaches_of(sites, ground, layers, which, threads);
  const auto surveyed =
      std::count_if(reaches.begin(), reaches.end(), [](const Reach& reach) { return reach.all > 0; });

  // A layer that reaches no site is one mistake, not one for every site.
  std::vector<std::string> names;
  std::vector<bool> misses_all(which.size(), surveyed > 1);
  for (const std::size_t i : which) names.push_back(layers.infos()[i].name);
  for (const Reach& reach : reaches)
    for (std::size_t i = 0; i < which.size(); ++i)
      misses_all[i] = misses_all[i] && reach.without[i] == reach.all;
  for (std::size_t i = 0; i < which.size(); ++i) {
    if (!misses_all[i]) continue;
    flags.add(Severity::stop, "layer outside the sites", layers.infos()[which[i]].place,
              fmt::format("layer {} has no data on any of the {} sites.", names[i], surveyed),
              "Is it the right file, in the right coordinate system?");
    for (Reach& reach : reaches) reach.without[i] = 0;
  }
  for (std::size_t s = 0; s < reaches.size(); ++s)
    if (reaches[s].all > 0) say_short(sites.sites[s], reaches[s], names, flags);
}

}  // namespace swardline::check_parts
