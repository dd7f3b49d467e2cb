#include "swardline/design/strata.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <cmath>

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

/// Kinds of ground and, where chances are weighted, weights of a block's cells.
struct BlockGround {
  std::vector<GroundCode> codes;
  std::vector<std::int32_t> weights;
};

/// Adds up one piece's cover by kind of ground.
void tally_piece(const Inside& inside, std::size_t which, const BlockGround& ground,
                 std::vector<std::int64_t>& cover, std::vector<Sum>& sums, std::vector<Tally>& out) {
  const std::vector<GroundCode>& codes = ground.codes;
  const BlockPiece& piece = inside.pieces[which].ground;
  const Window block = piece.block.window(), window = window_of(piece, inside.grid());
  std::fill(cover.begin(), cover.end(), 0);
  add_cover(piece, inside.grid(), cover);
  std::vector<GroundCode> met;
  for (int r = 0; r < window.rows; ++r) {
    const std::size_t first = std::size_t(window.row - block.row + r) * std::size_t(block_cells) +
                              std::size_t(window.col - block.col);
    for (std::size_t i = first; i < first + std::size_t(window.cols); ++i) {
      if (cover[i] <= 0) continue;
      Sum& sum = sums[codes[i]];
      if (sum.mm2 == 0) met.push_back(codes[i]);
      sum.mm2 += cover[i];
      if (!ground.weights.empty()) add_weight(sum, cover[i], ground.weights[i], inside.rule.weight.floor);
    }
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

/// The one pass over the ground: what kinds each piece holds, in the pieces' order.
std::vector<Tally> tally(const Inside& inside, int threads, const Progress& progress, Flags& flags) {
  const auto runs = runs_of_blocks(inside.pieces);
  std::vector<std::vector<Tally>> found(runs.size());
  std::map<std::pair<std::string, long long>, std::int64_t> unknown;
  std::mutex guard;
  std::atomic<std::int64_t> done{0};
  in_runs(runs.size(), threads, [&](int, std::size_t begin, std::size_t end) {
    BlockReader reader(inside.layers, inside.model, inside.rule);
    BlockGround ground;
    std::vector<std::int64_t> cover(std::size_t(block_cells) * block_cells, 0);
    std::vector<Sum> sums(inside.rule.codes());
    for (std::size_t i = begin; i < end; ++i) {
      reader.ground(inside.pieces[runs[i].first].ground.block.window(), ground.codes, &ground.weights);
      for (std::size_t p = runs[i].first; p < runs[i].second; ++p) {
        tally_piece(inside, p, ground, cover, sums, found[i]);
      }
      if (progress) progress("strata", ++done, std::int64_t(runs.size()));
    }
    const std::lock_guard lock(guard);
    for (const Scorer::UnknownClass& u : reader.unknown_classes()) unknown[{u.layer, u.value}] += u.cells;
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

/// One stratum in the making: the kinds of ground in it, the first of which names it.
struct Group {
  Group(GroundCode code, std::int64_t area) : codes{code}, own_mm2(area), mm2(area) {}
  std::vector<GroundCode> codes;
  std::int64_t own_mm2;  ///< before anything joined it
  std::int64_t mm2;
  std::vector<std::pair<GroundCode, std::int64_t>> joined;
};

std::size_t larger_neighbour(const std::vector<Group>& groups, std::size_t i) {
  if (i == 0) return 1;
  if (i + 1 == groups.size()) return i - 1;
  return groups[i + 1].mm2 > groups[i - 1].mm2 ? i + 1 : i - 1;
}

/// Strata under the smallest join a neighbouring band, the smallest first. `groups` are the bands
/// of one site and class, rising.
void join_small(std::vector<Group>& groups, double smallest_m2) {
  const auto smaller = [](const Group& a, const Group& b) { return a.mm2 < b.mm2; };
  while (groups.size() > 1) {
    const auto least = std::min_element(groups.begin(), groups.end(), smaller);
    if (double(least->mm2) * 1e-6 >= smallest_m2) return;
    Group& into = groups[larger_neighbour(groups, std::size_t(least - groups.begin()))];
    into.joined.insert(into.joined.end(), least->joined.begin(), least->joined.end());
    into.joined.emplace_back(least->codes.front(), least->own_mm2);
    into.codes.insert(into.codes.end(), least->codes.begin(), least->codes.end());
    into.mm2 += least->mm2;
    groups.erase(least);
  }
}

/// The band with a hyphen, as people type it in the plan.
std::string spread_band(const StrataRule& rule, GroundCode code) {
  if (!rule.by_score || code < ground_first_scored) return {};
  const std::string text = band_text(rule.bands, rule.band_of_ground(code));
  const std::string_view dash = "–";
  const auto at = text.find(dash);
  if (at == std::string::npos) return text;
  return fmt::format("{}-{}", text.substr(0, at), text.substr(at + dash.size()));
}

/// All strata of one head (a site, or all sites with the same attributes).
class HeadStrata {
 public:
  HeadStrata(Inside& inside, const Sites& sites, const StrataSpec& spec, std::size_t head, std::size_t site)
      : inside_(inside), site_(sites.sites[site]), spec_(spec), head_(head) {}

  void make(const std::map<GroundCode, std::int64_t>& areas, Flags& flags) {
    std::map<GroundCode, std::vector<Group>> by_class;
    for (const auto& [code, mm2] : areas) {
      if (code < ground_first_scored) {
        add(Group(code, mm2), code == ground_excluded ? StratumKind::excluded : StratumKind::no_score, flags);
      } else {
        by_class[code - inside_.rule.band_of_ground(code)].emplace_back(code, mm2);
      }
    }
    for (auto& [first, groups] : by_class) {
      join_small(groups, spec_.smallest_m2);
      for (const Group& group : groups) add(group, StratumKind::scored, flags);
    }
  }

 private:
  void add(const Group& group, StratumKind kind, Flags& flags) {
    const StrataRule& rule = inside_.rule;
    Stratum stratum;
    stratum.id = rule.id(site_, group.codes.front());
    stratum.site = rule.by_site ? site_.code : "all";
    stratum.rule = rule.words(site_, group.codes.front());
    stratum.kind = kind;
    stratum.area_mm2 = group.mm2;
    std::vector<std::string> joined;
    for (const auto& [code, mm2] : group.joined) {
      joined.push_back(fmt::format("{} ({:.0f} m²)", rule.words(site_, code), double(mm2) * 1e-6));
    }
    stratum.joined = in_words(joined);
    if (!joined.empty()) {
      flags.add(
          Severity::note, "small strata joined", spec_.place,
          fmt::format("{}: {} under {:.0f} m² joined to it.", stratum.id, stratum.joined, spec_.smallest_m2));
    }
    for (const GroundCode code : group.codes) inside_.stratum_of[head_][code] = int(inside_.strata.size());
    inside_.bands.push_back(spread_band(rule, group.codes.front()));
    inside_.strata.push_back(std::move(stratum));
  }

  Inside& inside_;
  const Site& site_;
  const StrataSpec& spec_;
  std::size_t head_;
};

/// Which sites share strata: all of one head. Returns the first site of each head.
std::vector<std::size_t> group_heads(Inside& inside, const Sites& sites) {
  std::map<std::string, std::size_t> heads;
  std::vector<std::size_t> first;
  for (std::size_t i = 0; i < sites.sites.size(); ++i) {
    const auto [found, is_new] = heads.try_emplace(inside.rule.head(sites.sites[i]), first.size());
    if (is_new) first.push_back(i);
    inside.head_of.push_back(found->second);
  }
  return first;
}

void sort_by_id(Inside& inside) {
  std::vector<std::size_t> order(inside.strata.size());
  for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
  std::sort(order.begin(), order.end(),
            [&](std::size_t a, std::size_t b) { return inside.strata[a].id < inside.strata[b].id; });
  std::vector<int> place(order.size());
  std::vector<Stratum> strata;
  std::vector<std::string> bands;
  for (std::size_t i = 0; i < order.size(); ++i) {
    place[order[i]] = int(i);
    strata.push_back(std::move(inside.strata[order[i]]));
    bands.push_back(std::move(inside.bands[order[i]]));
    if (i > 0 && strata[i].id == strata[i - 1].id) throw Defect("two strata are called " + strata[i].id);
  }
  inside.strata = std::move(strata);
  inside.bands = std::move(bands);
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
    const auto stratum = std::size_t(inside.stratum_of[inside.head_of[piece.site]][t.code]);
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

}  // namespace

SeasonStrata SeasonStrata::make(const Season& season, const Sites& sites, const Layers& layers,
                                const Model& model, int threads, const Progress& progress, Flags& flags) {
  auto inside = std::make_unique<Inside>(layers, model);
  inside->rule = resolve_strata(season, sites, layers, model);
  inside->pieces = cut_sites(sites, layers.grid(), threads, [](const Site& site) { return site.survey; });
  const std::vector<Tally> tallies = tally(*inside, threads, progress, flags);
  check_areas(*inside, sites, tallies);

  const std::vector<std::size_t> first_site = group_heads(*inside, sites);
  std::vector<std::map<GroundCode, std::int64_t>> areas(first_site.size());
  for (const Tally& t : tallies) areas[inside->head_of[inside->pieces[t.piece].site]][t.code] += t.sum.mm2;
  inside->stratum_of.assign(first_site.size(), std::vector<int>(inside->rule.codes(), -1));
  for (std::size_t head = 0; head < first_site.size(); ++head) {
    HeadStrata(*inside, sites, season.plan.strata, head, first_site[head]).make(areas[head], flags);
  }
  sort_by_id(*inside);
  place_ground(*inside, sites, tallies);
  if (season.plan.sample.weight.given())
    check_weights(season.plan, inside->strata, not_weights(tallies), flags);
  place_pins(*inside, season.plan.sample, sites, threads, progress);
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

}  // namespace swardline
