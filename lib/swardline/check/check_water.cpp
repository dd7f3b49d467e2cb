#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <map>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/check/check_parts.hpp"
#include "swardline/grid/cover.hpp"

namespace swardline::check_parts {
namespace {

// Reasons that say the ground is water. Which class of a layer is water no file says; a class that any
// sheet excludes may be it, and a class that every sheet leaves in surely is not.
constexpr const char* water_words[] = {"water", "pond", "lake",   "river",     "creek",
                                       "ditch", "pool", "stream", "reservoir", "slough"};
// A buffer round a pond is dry ground; under this share of the piece it may be nothing else.
constexpr double most_of_it = 0.5;

bool is_water(const std::string& reason) {
  std::string word;
  for (const char c : lower_ascii(reason) + " ") {
    if (std::isalpha(static_cast<unsigned char>(c)) != 0) {
      word += c;
      continue;
    }
    if (!word.empty() && word.back() == 's') word.pop_back();
    if (std::find(std::begin(water_words), std::end(water_words), word) != std::end(water_words)) return true;
    word.clear();
  }
  return false;
}

// Classes of a layer that some sheet excludes; nothing where no sheet speaks of the layer.
std::optional<std::set<std::string>> excluded_classes(const Season& season, const std::string& layer) {
  std::optional<std::set<std::string>> excluded;
  for (const Sheet& sheet : season.sheets)
    for (const Factor& factor : sheet.factors) {
      const auto* table = std::get_if<ClassTable>(&factor.response);
      if (factor.layer != layer || table == nullptr) continue;
      if (!excluded) excluded.emplace();
      excluded->insert(table->excluded.begin(), table->excluded.end());
    }
  if (excluded && excluded->empty()) excluded.reset();
  return excluded;
}

// Covered square millimetres of a polygon by class value.
std::map<long long, std::int64_t> class_areas(const Geometry& area, const Layers& layers, std::size_t layer,
                                              LayerReader& reader) {
  const LayerInfo& info = layers.infos()[layer];
  std::map<long long, std::int64_t> areas;
  std::vector<std::int64_t> cover;
  Tile tile;
  for (const BlockPiece& piece : cut_into_blocks(area, layers.grid())) {
    cover.assign(std::size_t(block_cells) * block_cells, 0);
    add_cover(piece, layers.grid(), cover);
    reader.read(piece.block.window(), tile);
    for (std::size_t cell = 0; cell < cover.size(); ++cell) {
      if (cover[cell] == 0) continue;
      if (info.bytes) {
        if (!info.byte_none[tile.layers[0].bytes[cell]]) areas[tile.layers[0].bytes[cell]] += cover[cell];
      } else if (tile.layers[0].values[cell] == tile.layers[0].values[cell]) {
        areas[(long long)tile.layers[0].values[cell]] += cover[cell];
      }
    }
  }
  return areas;
}

void check_piece(const Site& site, const ExcludedPiece& piece, const LayerInfo& info,
                 const std::map<long long, std::int64_t>& areas, const std::set<std::string>& excluded,
                 Flags& flags) {
  std::vector<std::string> dry_codes;
  double dry = 0;
  double all = 0;
  for (const auto& [value, mm2] : areas) {
    all += double(mm2) * 1e-6;
    const auto code = info.classes.find(value);
    if (code == info.classes.end() || excluded.count(code->second) > 0) continue;
    dry += double(mm2) * 1e-6;
    dry_codes.push_back(code->second);
  }
  if (all == 0 || dry < most_of_it * all) return;
  flags.add(Severity::note, "water newer than the layer", info.place,
            fmt::format("{} shows {} on {} of the {} cut out as {} at {}: is the water newer than the layer?",
                        info.name, in_words(dry_codes), hectares(dry), hectares(piece.area.area()),
                        piece.reason, site.code),
            "It stays cut out. The ground round it may have changed too: look at it before trusting scores.");
}

}  // namespace

void check_water(const Season& season, const Layers& layers, const std::vector<LayerFacts>& facts,
                 const Sites& sites, const SiteGround& ground, Flags& flags) {
  // A lake cut out may be larger than all that is surveyed: a note is not worth reading it then.
  if (!ground.all_of_every_site()) return;
  for (std::size_t i = 0; i < facts.size(); ++i) {
    const LayerInfo& info = layers.infos()[i];
    if (info.kind != LayerKind::classes || !facts[i].readable) continue;
    const std::optional<std::set<std::string>> excluded = excluded_classes(season, info.name);
    if (!excluded) continue;
    LayerReader reader(layers, {i});
    for (const Site& site : sites.sites)
      for (const ExcludedPiece& piece : site.excluded)
        if (is_water(piece.reason))
          check_piece(site, piece, info, class_areas(piece.area, layers, i, reader), *excluded, flags);
  }
}

}  // namespace swardline::check_parts
