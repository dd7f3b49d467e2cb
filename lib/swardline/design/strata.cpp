#include "swardline/design/strata.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <cmath>

#include "swardline/base/byte_counts.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/design/site_parts.hpp"
#include "swardline/design/strata_inside.hpp"
#include "swardline/design/strata_pins.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

using Inside = SeasonStrata::Inside;

/// What is added up for one kind of ground. The last three only where chances are weighted.
struct Sum {
  std::int64_t mm2 = 0;
  std::int64_t weighted = 0;                 ///< mm² × weight
  std::int64_t at_floor = 0;                 ///< mm² whose weight is below the floor, or that has none
  std::int64_t negative = 0, too_large = 0;  ///< cells
};

/// Ground of one kind in one piece.
struct Tally {
  std::size_t piece = 0;
  GroundCode code = 0;
  Sum sum;
};

void add_weight(Sum& sum, std::int64_t mm2, std::int32_t weight, std::int32_t floor) {
  if (weight == weight_negative) ++sum.negative;
  if (weight == weight_too_large) ++sum.too_large;
  if (weight < std::max(floor, std::int32_t{1})) sum.at_floor += mm2;
  add_weighted(sum.weighted, mm2, std::max(weight, floor));
}

/// Cells of each kind in runs of a block; of `kinds` numbers of ground.
void count_cells(const std::vector<std::uint8_t>& codes, const std::vector<BlockCover::Run>& runs,
                 std::size_t kinds, std::array<std::int64_t, 256>& cells) {
  constexpr std::size_t few = 16, long_run = 512;  // where looking once a kind is quicker
  // Four rows of counts, so that neighbours of one kind do not wait for each other.
  std::array<std::array<std::uint32_t, 256>, 4> rows{};
  for (const BlockCover::Run& run : runs) {
    const std::uint8_t* at = codes.data() + run.first;
    if (kinds <= few && run.count >= long_run) {
      for (std::size_t kind = 0; kind < kinds; ++kind)
        rows[0][kind] += std::uint32_t(count_bytes(at, run.count, std::uint8_t(kind)));
      continue;
    }
    std::size_t i = 0;
    for (; i + 4 <= run.count; i += 4) {
      for (std::size_t row = 0; row < 4; ++row) ++rows[row][at[i + row]];
    }
    for (; i < run.count; ++i) ++rows[0][at[i]];
  }
  for (std::size_t kind = 0; kind < cells.size(); ++kind)
    cells[kind] = std::int64_t{rows[0][kind]} + rows[1][kind] + rows[2][kind] + rows[3][kind];
}

/// Adds up one piece's cover by kind of ground. `sums` has an entry for every kind, all 0 before and after.
void tally_piece(const Inside& inside, std::size_t which, const BlockGround& ground, BlockCover& cover,
                 std::vector<Sum>& sums, std::vector<Tally>& out) {
  const SitePiece& piece = inside.pieces[which];
  cover_of(piece.ground, inside.grid(), cover);
  const std::int64_t cell = cell_mm2(inside.grid());
  std::vector<GroundCode> met;
  const auto add = [&](GroundCode code, std::int64_t mm2) -> Sum& {
    Sum& sum = sums[code];
    if (sum.mm2 == 0) met.push_back(code);
    sum.mm2 += mm2;
    return sum;
  };
  if (ground.wide.empty() && ground.weights.empty()) {
    std::array<std::int64_t, 256> cells{};
    count_cells(ground.narrow, cover.whole, sums.size(), cells);
    for (std::size_t code = 0; code < cells.size(); ++code) {
      if (cells[code] > 0) add(GroundCode(code), cells[code] * cell);
    }
    for (const BlockCover::Cut& cut : cover.cut) add(ground.code(cut.place), cut.mm2);
  } else {
    cover.each(cell, [&](std::size_t place, std::int64_t mm2) {
      Sum& sum = add(ground.code(place), mm2);
      if (!ground.weights.empty()) add_weight(sum, mm2, ground.weights[place], inside.rule.weight.floor);
    });
  }
  std::sort(met.begin(), met.end());
  for (const GroundCode code : met) {
    out.push_back({which, code, sums[code]});
    sums[code] = {};
  }
}

void throw_unknown_classes(const std::map<std::pair<std::string, long long>, std::int64_t>& unknown,
                           const Layers& layers, Flags& flags) {
  if (unknown.empty()) return;
  for (const auto& [what, cells] : unknown) {
    const auto index = layers.index(what.first);
    flags.add(Severity::stop, "unknown class", index ? layers.infos()[*index].place : Place{},
              fmt::format("{} value {} ({} cells) is in no legend.", what.first, what.second, grouped(cells)),
              fmt::format("Name it under [layers.{}] classes.", what.first));
  }
  flags.throw_if_stopped();
}

/// The smallest window of whole blocks that holds all ground stratified now.
Window blocks_now(const Inside& inside) {
  Window window;
  for (const SitePiece& piece : inside.pieces) {
    if (piece.source == inside.now()) window = unite(window, piece.ground.block.window());
  }
  return window;
}

void write_block(GroundMapWriter& map, const Block& block, const BlockGround& ground) {
  if (ground.wide.empty())
    map.write(block, ground.narrow);
  else
    map.write(block, ground.wide);
}

/// The one pass over the ground: what kinds each piece holds, in the pieces' order. Ground stratified now
/// goes into `map` as well, if there is one.
std::vector<Tally> tally(Inside& inside, GroundMapWriter* map, int threads, const Progress& progress,
                         Flags& flags) {
  const auto runs = runs_of_blocks(inside.pieces);
  std::vector<std::vector<Tally>> found(runs.size());
  std::map<std::pair<std::string, long long>, std::int64_t> unknown;
  std::mutex guard;
  std::atomic<std::int64_t> done{0};
  std::size_t most_codes = 0;
  for (std::size_t source = 0; source <= inside.now(); ++source)
    most_codes = std::max(most_codes, inside.codes(source));
  in_runs(runs.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    GroundReader reader(inside.layers, inside.model, inside.rule, inside.record);
    BlockCover cover;
    std::vector<Sum> sums(most_codes);
    for (std::size_t i = begin; i < end; ++i) {
      std::shared_ptr<BlockGround> ground;
      std::optional<std::size_t> source;
      for (std::size_t p = runs[i].first; p < runs[i].second; ++p) {
        const SitePiece& piece = inside.pieces[p];
        if (source != piece.source) {
          source = piece.source;
          ground = std::make_shared<BlockGround>();
          reader.ground(*source, piece.ground.block, *ground);
          if (map != nullptr && *source == inside.now()) write_block(*map, piece.ground.block, *ground);
          inside.keep(*source, piece.ground.block, ground);
        }
        tally_piece(inside, p, *ground, cover, sums, found[i]);
        inside.site_cells.take(piece.site, piece.ground.block, *ground, inside.rule);
      }
      if (progress) progress("strata", ++done, std::int64_t(runs.size()));
    }
    const std::lock_guard lock(guard);
    for (const Scorer::UnknownClass& u : reader.now().unknown_classes())
      unknown[{u.layer, u.value}] += u.cells;
  });
  throw_unknown_classes(unknown, inside.layers, flags);
  std::vector<Tally> all;
  for (const std::vector<Tally>& part : found) all.insert(all.end(), part.begin(), part.end());
  return all;
}

void check_areas(const Inside& inside, const Sites& sites, const std::vector<Tally>& tallies) {
  std::vector<std::int64_t> sums(sites.sites.size(), 0);
  for (const Tally& t : tallies) sums[inside.pieces[t.piece].site] += t.sum.mm2;
  for (std::size_t i = 0; i < sums.size(); ++i) {
    const Site& site = sites.sites[i];
    if (site.verge) continue;
    const double off = std::abs(double(sums[i]) * 1e-6 - site.survey_m2);
    if (off > 1e-6 * site.survey_m2 + 1e-4) {
      throw Defect(fmt::format("the strata of {} add up to {:.6f} m² and its survey area is {:.6f} m²",
                               site.code, double(sums[i]) * 1e-6, site.survey_m2));
    }
  }
}

/// Which tracts share strata: all of one source and head. Returns the head of every tract.
std::vector<std::size_t> group_heads(Inside& inside) {
  std::map<std::pair<std::size_t, std::string>, std::size_t> known;
  std::vector<std::size_t> head_of;
  for (const Tract& tract : inside.tracts) {
    const auto [found, is_new] = known.try_emplace({tract.source, tract.head}, inside.heads.size());
    if (is_new) inside.heads.push_back({tract.source, tract.head, tract.site});
    head_of.push_back(found->second);
  }
  return head_of;
}

void sort_by_id(Inside& inside) {
  std::vector<std::size_t> order(inside.strata.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return inside.strata[a].id < inside.strata[b].id; });
  std::vector<int> place(order.size());
  std::vector<Stratum> strata;
  std::vector<std::string> bands;
  std::vector<std::size_t> head_of;
  for (std::size_t i = 0; i < order.size(); ++i) {
    place[order[i]] = int(i);
    head_of.push_back(inside.head_of[order[i]]);
    strata.push_back(std::move(inside.strata[order[i]]));
    bands.push_back(std::move(inside.bands[order[i]]));
    if (i > 0 && strata[i].id == strata[i - 1].id) throw Defect("two strata are called " + strata[i].id);
  }
  inside.strata = std::move(strata);
  inside.bands = std::move(bands);
  inside.head_of = std::move(head_of);
  for (std::vector<int>& row : inside.stratum_of) {
    for (int& stratum : row) stratum = stratum < 0 ? stratum : place[std::size_t(stratum)];
  }
}

/// Ground without a score has equal chances where the score is the weight.
bool is_weighted(const StrataRule& rule, const Stratum& stratum) {
  return rule.weight.of == WeightRule::Of::layer ||
         (rule.weight.of == WeightRule::Of::score && stratum.kind == StratumKind::scored);
}

NotWeights not_weights(const std::vector<Tally>& tallies) {
  NotWeights cells;
  for (const Tally& t : tallies) {
    cells.negative += t.sum.negative;
    cells.too_large += t.sum.too_large;
  }
  return cells;
}

/// Areas by block and the sites of every stratum, from the pieces' tallies.
void place_ground(Inside& inside, const Sites& all, const std::vector<Tally>& tallies) {
  inside.blocks.resize(inside.strata.size());
  inside.sites.resize(inside.strata.size());
  std::vector<std::map<std::size_t, std::int64_t>> shares(inside.strata.size());  // mm² by site
  for (const Tally& t : tallies) {
    const SitePiece& piece = inside.pieces[t.piece];
    const auto stratum = std::size_t(inside.stratum_of[piece.head][t.code]);
    std::vector<BlockArea>& blocks = inside.blocks[stratum];
    if (blocks.empty() || blocks.back().block != piece.ground.block)
      blocks.push_back({piece.ground.block, 0});
    blocks.back().mm2 += t.sum.mm2;
    shares[stratum][piece.site] += t.sum.mm2;
    if (!is_weighted(inside.rule, inside.strata[stratum])) continue;
    add_weighted(blocks.back().weighted_mm2, t.sum.weighted, 1);
    add_weighted(inside.strata[stratum].weighted_mm2, t.sum.weighted, 1);
    inside.strata[stratum].at_floor_mm2 += t.sum.at_floor;
    inside.strata[stratum].weight_unit = inside.rule.weight.step;
  }
  for (std::size_t s = 0; s < shares.size(); ++s) {
    double sum = 0;
    for (const auto& [site, mm2] : shares[s]) {
      inside.sites[s].push_back(site);
      sum += all.sites[site].geodesic_ratio * double(mm2);
    }
    inside.strata[s].geodesic_ratio = shares[s].size() == 1
                                          ? all.sites[shares[s].begin()->first].geodesic_ratio
                                          : sum / double(inside.strata[s].area_mm2);
  }
}

void say_version(Inside& inside, const RecordedVersion& v) {
  inside.record_words.push_back(
      fmt::format("Strata of record, version {} of {}{}.", v.version, v.made, v.anew ? "" : ": new ground"));
  inside.record_words.insert(inside.record_words.end(), v.changes.begin(), v.changes.end());
}

std::string changed_of_known(const strata_parts::ChangedGround& ground) {
  return fmt::format("{} of {}", site_parts::hectares_plain(double(ground.changed_mm2) * 1e-6),
                     site_parts::hectares_plain(double(ground.known_mm2) * 1e-6));
}

/// What making strata anew changes, in words.
std::vector<std::string> changes(const Inside& inside, const StrataRecord& before, int threads,
                                 const Progress& progress) {
  const auto ground = strata_parts::changed_ground(inside, before, threads, progress);
  std::vector<std::string> words = {fmt::format("In place of version {}: {} is ground of another kind.",
                                                before.newest, changed_of_known(ground))};
  for (std::string& line : strata_parts::changes_in_words(before, inside.strata))
    words.push_back(std::move(line));
  return words;
}

void say_changed_scores(const Inside& inside, int threads, const Progress& progress,
                        const std::map<std::string, std::string>& inputs, const Place& place, Flags& flags) {
  if (!strata_parts::inputs_changed(inside.record, inputs)) return;
  const auto ground = strata_parts::changed_ground(inside, inside.record, threads, progress);
  if (ground.changed_mm2 == 0) return;
  flags.add(Severity::note, "scores changed, strata kept", place,
            fmt::format("rules or layers are not those the strata of record were made of: {} would be in "
                        "another stratum by the scores of now. Strata stay as of version {}.",
                        changed_of_known(ground), inside.record.newest),
            "Keep them as long as plots are counted again; draw with --new-strata to begin anew.");
}

/// The version this draw adds, written but not yet published.
void add_to_record(Inside& inside, GroundMapWriter& map, RecordedVersion version) {
  std::vector<std::pair<std::uint32_t, std::string>> names;
  for (const std::uint32_t code : map.met()) {
    version.kinds[code] = inside.rule.kind(code);
    names.emplace_back(code, version.kinds[code]);
  }
  map.finish(names);
  inside.draft->finish(version);
  if (inside.rule.weight.of == WeightRule::Of::nothing) inside.map_of_now = inside.draft->finished_map();
  if (version.anew) inside.record_print = fingerprint(version);
  say_version(inside, version);
}

}  // namespace

SeasonStrata SeasonStrata::make(const Season& season, const Sites& sites, const Layers& layers,
                                const Model& model, int threads, const Progress& progress, Flags& flags,
                                const RecordOptions& options, int map_cells) {
  auto inside = std::make_unique<Inside>(layers, model);
  inside->rule = resolve_strata(season, sites, layers, model);
  if (!options.folder.empty()) remove_half_made(options.folder);
  const StrataRecord kept = options.folder.empty() ? StrataRecord{} : read_record(options.folder);
  inside->rule.version = kept.newest + 1;
  if (!options.anew) inside->record = kept;
  strata_parts::lay_out_tracts(*inside, season.plan, sites, flags);
  inside->head_of_tract = group_heads(*inside);
  inside->pieces = cut_tracts(*inside, threads, [](const Tract& tract) { return tract.ground; });

  inside->site_cells.lay_out(*inside, sites, map_cells);

  std::unique_ptr<GroundMapWriter> map;
  const Window blocks = blocks_now(*inside);
  if (!options.folder.empty() && !blocks.empty()) {
    inside->draft = std::make_shared<RecordDraft>(options.folder, inside->rule.version);
    map = std::make_unique<GroundMapWriter>(inside->draft->map(), layers.grid(), blocks,
                                            Crs::from_text(season.plan.crs).wkt(), inside->rule.codes());
  }
  const std::vector<Tally> tallies = tally(*inside, map.get(), threads, progress, flags);
  check_areas(*inside, sites, tallies);

  std::vector<std::map<GroundCode, std::int64_t>> areas(inside->heads.size());
  for (const Tally& t : tallies) areas[inside->pieces[t.piece].head][t.code] += t.sum.mm2;
  for (const Head& head : inside->heads) inside->stratum_of.emplace_back(inside->codes(head.source), -1);
  for (std::size_t head = 0; head < inside->heads.size(); ++head) {
    if (inside->heads[head].source != inside->now()) {
      strata_parts::add_recorded(*inside, head, areas[head]);
    } else {
      strata_parts::add_made(*inside, head, sites.sites[inside->heads[head].first_site], season.plan.strata,
                             areas[head], flags);
    }
  }
  sort_by_id(*inside);
  place_ground(*inside, sites, tallies);
  if (season.plan.sample.weight.given())
    check_weights(season.plan, inside->strata, not_weights(tallies), flags);
  place_pins(*inside, season.plan.sample, sites, threads, progress);
  if (!options.folder.empty()) {
    for (const RecordedVersion& v : inside->record.versions) say_version(*inside, v);
    say_changed_scores(*inside, threads, progress, strata_parts::score_inputs(season, layers),
                       season.plan.strata.place, flags);
    if (!inside->record.empty()) inside->record_print = fingerprint(inside->record.versions.front());
  }
  if (map) {
    RecordedVersion version = strata_parts::new_version(*inside, season, sites, options);
    if (options.anew && !kept.empty()) version.changes = changes(*inside, kept, threads, progress);
    add_to_record(*inside, *map, std::move(version));
  }
  return SeasonStrata(std::move(inside));
}

SeasonStrata::SeasonStrata(std::unique_ptr<Inside> inside) : inside_(std::move(inside)) {}
SeasonStrata::~SeasonStrata() = default;
SeasonStrata::SeasonStrata(SeasonStrata&&) noexcept = default;

const std::vector<Stratum>& SeasonStrata::strata() const { return inside_->strata; }
const std::string& SeasonStrata::band(std::size_t stratum) const { return inside_->bands[stratum]; }
const std::vector<std::size_t>& SeasonStrata::sites_of(std::size_t stratum) const {
  return inside_->sites[stratum];
}
const std::vector<SiteCells>& SeasonStrata::site_cells() const { return inside_->site_cells.cells(); }
std::shared_ptr<RecordDraft> SeasonStrata::draft() const { return inside_->draft; }
const std::string& SeasonStrata::record_fingerprint() const { return inside_->record_print; }
const std::vector<std::string>& SeasonStrata::record_words() const { return inside_->record_words; }

}  // namespace swardline
