// What the rules make of the sites' ground as a whole: species that score nowhere, sites that every rule
// excludes.
#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <map>
#include <mutex>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/check/check_parts.hpp"

namespace swardline::check_parts {
namespace {

constexpr std::size_t scored = 0, excluded = 1, no_score = 2;

// Cells with survey area, by what they came to.
struct Cells {
  std::array<std::int64_t, 3> of{};
  std::map<std::size_t, std::int64_t> reasons;  ///< of excluded ground: category -> cells
  void add(const Cells& other) {
    for (std::size_t i = 0; i < of.size(); ++i) of[i] += other.of[i];
    for (const auto& [category, cells] : other.reasons) reasons[category] += cells;
  }
  [[nodiscard]] bool all_excluded() const { return of[excluded] > 0 && of[scored] + of[no_score] == 0; }
};

using Table = std::vector<std::vector<Cells>>;  // site, species

void add_piece(const BlockCover& cover, const ScoreTile& scores, const Model& model,
               std::vector<Cells>& sums) {
  for (std::size_t k = 0; k < sums.size(); ++k) {
    const std::vector<HeldDown>& categories = model.species()[k].categories;
    std::array<std::int64_t, 256> met{};
    const SpeciesTile& tile = scores.species[k];
    cover.each(1, [&](std::size_t cell, std::int64_t) {
      if (tile.percent[cell] != no_percent)
        ++sums[k].of[scored];
      else
        ++met[tile.held_down[cell]];
    });
    for (std::size_t category = 0; category < categories.size(); ++category) {
      if (met[category] == 0) continue;
      const bool out = categories[category].kind == HeldDown::Kind::excluded;
      sums[k].of[out ? excluded : no_score] += met[category];
      if (out) sums[k].reasons[category] += met[category];
    }
  }
}

Table table_of(const Layers& layers, const Model& model, const SiteGround& ground, std::size_t sites,
               int threads, const Progress& progress) {
  Table total(sites, std::vector<Cells>(model.species().size()));
  std::mutex guard;
  std::int64_t done = 0;
  const std::vector<const SiteGround::Looked*> blocks = ground.blocks_of_whole_sites();
  in_runs(blocks.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    LayerReader reader(layers, model.layers_needed());
    Scorer scorer(model);
    Tile tile;
    ScoreTile scores;
    BlockCover cover;
    for (std::size_t b = begin; b < end; ++b) {
      const SiteGround::Looked& looked = *blocks[b];
      reader.read(looked.block.window(), tile);
      scorer.score(tile, scores);
      for (const SiteGround::Piece& piece : looked.pieces) {
        cover_of(piece.ground, layers.grid(), cover);
        std::vector<Cells> sums(model.species().size());
        add_piece(cover, scores, model, sums);
        const std::lock_guard lock(guard);
        for (std::size_t k = 0; k < sums.size(); ++k) total[piece.site][k].add(sums[k]);
      }
      const std::lock_guard lock(guard);
      if (progress) progress("scoring the sites", ++done, std::int64_t(blocks.size()));
    }
  });
  return total;
}

void say_species(const Season& season, const Model& model, const Table& table, Flags& flags) {
  for (std::size_t k = 0; k < model.species().size(); ++k) {
    Cells all;
    for (const std::vector<Cells>& site : table) all.add(site[k]);
    if (all.of[scored] > 0 || all.of[excluded] == 0) continue;
    const ScoredSpecies& species = model.species()[k];
    const auto most = std::max_element(all.reasons.begin(), all.reasons.end(),
                                       [](const auto& a, const auto& b) { return a.second < b.second; });
    const double share = double(most->second) / double(all.of[excluded] + all.of[no_score]);
    const auto sheet = std::find_if(season.sheets.begin(), season.sheets.end(),
                                    [&](const Sheet& s) { return s.code == species.code; });
    flags.add(Severity::ask, "species scores no ground", sheet->place,
              fmt::format("{} scores no ground at the sites; {:.0f} % of it is {}.", species.code,
                          100 * share, species.categories[most->first].text),
              "Look at the excluded classes and the masks of its sheet.");
  }
}

void say_sites(const Season& season, const Sites& sites, const SiteGround& ground, const Table& table,
               Flags& flags) {
  std::vector<std::string> codes;
  for (std::size_t s = 0; s < table.size(); ++s) {
    const bool out = ground.all_of(s) && std::all_of(table[s].begin(), table[s].end(),
                                                     [](const Cells& cells) { return cells.all_excluded(); });
    if (out) codes.push_back(sites.sites[s].code);
  }
  if (codes.empty()) return;
  flags.add(Severity::ask, "site excluded by every rule", {season.plan.file.string(), 0, {}},
            fmt::format("all of {} is excluded for every scored species{}.", in_words(codes),
                        season.plan.sample.plots_in_excluded ? "" : ": no plots are drawn there"),
            "Look at the sheets' excluded classes and masks.");
}

}  // namespace

void check_scores(const Season& season, const Layers& layers, const Model& model, const Sites& sites,
                  const SiteGround& ground, int threads, const Progress& progress, Flags& flags) {
  if (model.species().empty() || ground.blocks().empty()) return;
  const Table table = table_of(layers, model, ground, sites.sites.size(), threads, progress);
  if (ground.all_of_every_site()) say_species(season, model, table, flags);
  say_sites(season, sites, ground, table, flags);
}

}  // namespace swardline::check_parts
