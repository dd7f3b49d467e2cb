#include "swardline/design/strata_blocks.hpp"

#include <algorithm>
#include <cmath>

#include "swardline/habitat/score_season.hpp"

namespace swardline {
namespace {

constexpr GroundCode not_met = 0xFFFFFFFF;

std::vector<LayerReader> readers_of(const Layers& layers, const StrataRule& rule) {
  std::vector<LayerReader> readers;
  for (const ClassPart& part : rule.classes)
    readers.emplace_back(layers, std::vector<std::size_t>{part.index});
  return readers;
}

std::vector<std::vector<std::uint8_t>> excluded_categories(const Model& model) {
  std::vector<std::vector<std::uint8_t>> table;
  for (const ScoredSpecies& species : model.species()) {
    std::vector<std::uint8_t> row(256, 0);
    for (std::size_t i = 0; i < species.categories.size() && i < row.size(); ++i) {
      row[i] = species.categories[i].kind == HeldDown::Kind::excluded ? 1 : 0;
    }
    table.push_back(std::move(row));
  }
  return table;
}

}  // namespace

BlockReader::BlockReader(const Layers& layers, const Model& model, const StrataRule& rule)
    : layers_(layers),
      model_(model),
      rule_(rule),
      scores_(!model.species().empty()),
      reader_(layers, model.layers_needed()),
      scorer_(model),
      kinds_(PlaceKinds::of(model)),
      kind_scorer_(model),
      class_readers_(readers_of(layers, rule)),
      unknown_(rule.classes.size()),
      is_excluded_(excluded_categories(model)) {
  if (rule.weight.of == WeightRule::Of::layer)
    weight_reader_.emplace(layers, std::vector<std::size_t>{rule.weight.layer});
  if (rule_.by_score) {
    for (int p = 0; p <= 100; ++p) band_[std::size_t(p)] = std::uint32_t(band_of(rule_.bands, p));
  }
  if (!kinds_) return;
  code_of_kind_.assign(kinds_->count(), not_met);
  if (scores_ && rule.classes.empty() && rule.weight.of == WeightRule::Of::nothing &&
      rule.codes() <= BlockGround::most_narrow)
    narrow_.emplace(*kinds_, [this](std::uint32_t kind) {
      learn(kind);
      return std::uint8_t(code_of_kind_[kind]);
    });
  percent_of_kind_.assign(kinds_->count(), no_percent);
}

GroundCode BlockReader::code_by_score(std::uint8_t percent, std::uint8_t excluded) const {
  if (excluded != 0) return ground_excluded;
  if (rule_.by_score && percent == no_percent) return ground_no_score;
  return ground_first_scored + band_[percent];
}

void BlockReader::learn(std::uint32_t kind) {
  kind_scorer_.score(kinds_->example(kind), score_tile_);
  std::vector<std::uint8_t> percent(1, 0), excluded(1, 0);
  score_bands(percent, excluded);
  percent_of_kind_[kind] = percent[0];
  code_of_kind_[kind] = code_by_score(percent[0], excluded[0]);
}

/// Codes as if no class layer made strata, and percent_ where the score is the weight.
void BlockReader::ground_by_score(const Window& window, std::vector<GroundCode>& codes) {
  const std::size_t count = window.cells();
  percent_.assign(count, 0);
  if (!scores_) {
    codes.assign(count, code_by_score(0, 0));
    return;
  }
  codes.resize(count);
  reader_.read(window, tile_);
  if (kinds_) {
    scorer_.look_for_unknown(tile_);
    kinds_->read(tile_, kind_);
    for (std::size_t i = 0; i < count; ++i) {
      GroundCode code = code_of_kind_[kind_[i]];
      if (code == not_met) {
        learn(kind_[i]);
        code = code_of_kind_[kind_[i]];
      }
      codes[i] = code;
    }
    if (rule_.weight.of != WeightRule::Of::score) return;
    for (std::size_t i = 0; i < count; ++i) percent_[i] = percent_of_kind_[kind_[i]];
    return;
  }
  scorer_.score(tile_, score_tile_);
  excluded_.resize(count);
  score_bands(percent_, excluded_);
  for (std::size_t i = 0; i < count; ++i) codes[i] = code_by_score(percent_[i], excluded_[i]);
}

void BlockReader::ground(const Block& block, BlockGround& ground) {
  if (narrow_) {
    reader_.read(block.window(), tile_);
    if (!narrow_->read(tile_, ground.narrow)) scorer_.look_for_unknown(tile_);
    return;
  }
  std::vector<GroundCode> codes;
  this->ground(block.window(), codes, &ground.weights);
  ground.take(std::move(codes), rule_.codes());
}

/// Per cell the strata's percent (no_percent: none) and whether every scored species excludes it.
void BlockReader::score_bands(std::vector<std::uint8_t>& percent, std::vector<std::uint8_t>& excluded) const {
  const std::size_t count = percent.size();
  std::vector<std::uint32_t> sum(count, 0), with_score(count, 0);
  std::vector<std::uint8_t> best(count, 0);
  std::fill(excluded.begin(), excluded.end(), std::uint8_t{1});
  for (std::size_t s = 0; s < score_tile_.species.size(); ++s) {
    const SpeciesTile& species = score_tile_.species[s];
    const std::vector<std::uint8_t>& is_excluded = is_excluded_[s];
    const bool counts = rule_.score_of != StrataRule::ScoreOf::one || s == rule_.species;
    for (std::size_t i = 0; i < count; ++i) {
      const std::uint8_t p = species.percent[i];
      excluded[i] &= is_excluded[species.held_down[i]];
      if (!counts || p == no_percent) continue;
      sum[i] += p;
      ++with_score[i];
      best[i] = std::max(best[i], p);
    }
  }
  const bool mean = rule_.score_of == StrataRule::ScoreOf::mean;
  for (std::size_t i = 0; i < count; ++i) {
    const std::uint32_t n = with_score[i];
    percent[i] = n == 0 ? no_percent : mean ? std::uint8_t((2 * sum[i] + n) / (2 * n)) : best[i];
  }
}

void BlockReader::add_classes(std::size_t which, std::vector<std::uint32_t>& combination,
                              std::vector<std::uint8_t>& none) {
  const ClassPart& part = rule_.classes[which];
  const LayerInfo& info = layers_.infos()[part.index];
  const LayerTile& layer = class_tile_.layers[0];
  std::uint32_t step = 1;
  for (std::size_t i = 0; i < which; ++i) step *= std::uint32_t(rule_.classes[i].codes.size());
  const auto take = [&](std::size_t cell, std::uint32_t code) { combination[cell] += step * code; };
  if (info.bytes) {
    constexpr std::uint32_t no_code = 0xFFFFFFFF;
    std::array<std::uint32_t, 256> table{};
    table.fill(no_code);
    for (const auto& [value, code] : part.code_of) {
      if (value >= 0 && value < 256) table[std::size_t(value)] = code;
    }
    for (std::size_t i = 0; i < layer.bytes.size(); ++i) {
      const std::uint8_t raw = layer.bytes[i];
      if (info.byte_none[raw] || table[raw] == no_code) {
        none[i] = 1;
        if (!info.byte_none[raw]) ++unknown_[which][raw];
      } else {
        take(i, table[raw]);
      }
    }
    return;
  }
  for (std::size_t i = 0; i < layer.values.size(); ++i) {
    const float raw = layer.values[i];
    if (std::isnan(raw)) {
      none[i] = 1;
      continue;
    }
    const auto value = static_cast<long long>(std::llround(raw));
    const auto found = part.code_of.find(value);
    if (found == part.code_of.end() || double(value) != double(raw)) {
      none[i] = 1;
      ++unknown_[which][value];
    } else {
      take(i, found->second);
    }
  }
}

void BlockReader::ground(const Window& window, std::vector<GroundCode>& codes,
                         std::vector<std::int32_t>* weights) {
  const std::size_t count = window.cells();
  ground_by_score(window, codes);
  if (!rule_.classes.empty()) {
    none_.assign(count, 0);
    combination_.assign(count, 0);
    for (std::size_t which = 0; which < rule_.classes.size(); ++which) {
      class_readers_[which].read(window, class_tile_);
      add_classes(which, combination_, none_);
    }
    const std::uint32_t bands = rule_.band_count();
    for (std::size_t i = 0; i < count; ++i) {
      if (codes[i] < ground_first_scored) continue;
      codes[i] = none_[i] != 0 ? ground_no_score : codes[i] + combination_[i] * bands;
    }
  }
  if (weights == nullptr || rule_.weight.of == WeightRule::Of::nothing) return;
  weights->assign(count, 1);
  if (rule_.weight.of == WeightRule::Of::layer) {
    layer_weights(window, *weights);
    return;
  }
  for (std::size_t i = 0; i < count; ++i) {
    if (codes[i] >= ground_first_scored) (*weights)[i] = percent_[i] == no_percent ? 0 : percent_[i];
  }
}

void BlockReader::readings(const std::vector<std::pair<std::int64_t, std::int64_t>>& cells,
                           std::vector<CellReading>& out) {
  out.assign(cells.size(), {});
  if (!scores_ || cells.empty()) return;
  // Only the cells asked for are read and scored, as a tile of one row.
  Tile asked;
  asked.window = {0, 0, int(cells.size()), 1};
  for (const auto& [col, row] : cells) {
    reader_.read({col, row, 1, 1}, tile_);
    asked.layers.resize(tile_.layers.size());
    for (std::size_t i = 0; i < tile_.layers.size(); ++i) {
      const LayerTile& one = tile_.layers[i];
      LayerTile& all = asked.layers[i];
      all.bytes.insert(all.bytes.end(), one.bytes.begin(), one.bytes.end());
      all.values.insert(all.values.end(), one.values.begin(), one.values.end());
    }
  }
  kind_scorer_.score(asked, score_tile_);
  std::vector<std::uint8_t> percent(cells.size(), 0), excluded(cells.size(), 0);
  score_bands(percent, excluded);
  for (std::size_t i = 0; i < cells.size(); ++i) {
    CellReading& reading = out[i];
    if (percent[i] != no_percent) reading.score_percent = percent[i];
    // The species whose score it is; where there is none, the first tells why.
    std::size_t giver = rule_.score_of == StrataRule::ScoreOf::one ? rule_.species : 0;
    for (std::size_t s = 0; s < score_tile_.species.size(); ++s) {
      const std::uint8_t p = score_tile_.species[s].percent[i];
      const ScoredSpecies& species = model_.species()[s];
      if (const std::size_t why = score_tile_.species[s].held_down[i]; why < species.categories.size())
        reading.held_down[species.code] = species.categories[why].text;
      if (p == no_percent) continue;
      reading.percent[species.code] = p;
      const std::uint8_t held = score_tile_.species[giver].percent[i];
      if (rule_.score_of != StrataRule::ScoreOf::one && (held == no_percent || p > held)) giver = s;
    }
    const bool of_no_species = rule_.score_of == StrataRule::ScoreOf::mean && reading.score_percent;
    const std::vector<HeldDown>& categories = model_.species()[giver].categories;
    const std::size_t category = score_tile_.species[giver].held_down[i];
    if (!of_no_species && category < categories.size()) reading.held_down_by = categories[category].text;
  }
}

std::vector<Scorer::UnknownClass> BlockReader::unknown_classes() const {
  std::vector<Scorer::UnknownClass> all =
      scores_ ? scorer_.unknown_classes() : std::vector<Scorer::UnknownClass>{};
  for (std::size_t which = 0; which < unknown_.size(); ++which) {
    for (const auto& [value, cells] : unknown_[which]) {
      const std::string& layer = rule_.classes[which].layer;
      const bool scored_too = std::any_of(
          all.begin(), all.end(),
          [&layer, v = value](const Scorer::UnknownClass& u) { return u.layer == layer && u.value == v; });
      if (!scored_too) all.push_back({layer, value, cells});
    }
  }
  return all;
}

void BlockGround::take(std::vector<GroundCode> codes, std::size_t kinds) {
  narrow.clear();
  wide.clear();
  if (kinds > most_narrow) {
    wide = std::move(codes);
    return;
  }
  narrow.resize(codes.size());
  for (std::size_t i = 0; i < codes.size(); ++i) narrow[i] = std::uint8_t(codes[i]);
}

GroundCode kinds_of(const RecordedVersion& version) {
  return version.kinds.empty() ? 0 : version.kinds.rbegin()->first + 1;
}

GroundReader::GroundReader(const Layers& layers, const Model& model, const StrataRule& rule,
                           const StrataRecord& record, const std::filesystem::path& map_of_now)
    : grid_(layers.grid()),
      rule_(rule),
      record_(record),
      now_(layers, model, rule),
      map_of_now_(map_of_now),
      maps_(record.versions.size()) {}

void GroundReader::ground(std::size_t source, const Block& block, BlockGround& ground) {
  const bool weighted = rule_.weight.of != WeightRule::Of::nothing;
  if (source == record_.versions.size() && map_of_now_.empty()) return now_.ground(block, ground);
  if (source == record_.versions.size()) {
    if (!drawn_) drawn_ = std::make_unique<GroundMapReader>(map_of_now_, grid_);
    if (rule_.codes() <= BlockGround::most_narrow && drawn_->read_bytes(block, ground.narrow)) return;
    drawn_->read(grid_, block.window(), ground_no_score, codes_);
    return ground.take(codes_, rule_.codes());
  }
  this->ground(source, block.window(), codes_, weighted ? &ground.weights : nullptr);
  ground.take(codes_, std::size_t(kinds_of(record_.versions[source])) + 1);
}

void GroundReader::ground(std::size_t source, const Window& window, std::vector<GroundCode>& codes,
                          std::vector<std::int32_t>* weights) {
  if (source == record_.versions.size()) {
    now_.ground(window, codes, weights);
    return;
  }
  const RecordedVersion& version = record_.versions[source];
  if (!maps_[source]) maps_[source] = std::make_unique<GroundMapReader>(version.map, version.grid);
  maps_[source]->read(grid_, window, kinds_of(version), codes);
  std::vector<GroundCode> unused;
  if (weights != nullptr && rule_.weight.of != WeightRule::Of::nothing) now_.ground(window, unused, weights);
}

}  // namespace swardline
