#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include "swardline/habitat/byte_lanes.hpp"
#include "swardline/habitat/kernel.hpp"
#include "swardline/habitat/model.hpp"
#include "swardline/habitat/model_parts.hpp"

namespace swardline {
namespace {

/// A joint group's table, filled for the joint values that occur.
class JointTable {
 public:
  JointTable(const Model::Inside& model, JointGroup group, bool with_float)
      : model_(model),
        group_(std::move(group)),
        compiled_(group_.entries, 0),
        rows_(std::size_t{group_.entries} * group_.species.size() * 2),
        scores_(with_float ? std::size_t{group_.entries} * group_.species.size() : 0),
        index_(span_cells),
        byte_of_slot_(model.infos.size(), 0) {
    std::size_t factors = 0;
    for (std::size_t s : group_.species) {
      scratch_.push_back(model.plans[s].tree.scratch());
      factors = std::max(factors, model.plans[s].factors.size());
    }
    responses_.resize(factors);
  }

  void score(const Tile& tile, std::size_t begin, std::size_t count, ScoreTile& out) {
    std::fill_n(index_.begin(), count, 0U);
    for (const JointGroup::Axis& axis : group_.axes) {
      const std::uint8_t* bytes = tile.layers[axis.slot].bytes.data() + begin;
      for (std::size_t i = 0; i < count; ++i) index_[i] += axis.offset[bytes[i]];
    }
    for (std::size_t i = 0; i < count; ++i)
      if (!compiled_[index_[i]]) compile(index_[i]);
    const std::size_t width = group_.species.size();
    for (std::size_t k = 0; k < width; ++k) {
      SpeciesTile& species = out.species[group_.species[k]];
      std::uint8_t* percent = species.percent.data() + begin;
      std::uint8_t* held_down = species.held_down.data() + begin;
      for (std::size_t i = 0; i < count; ++i) {
        const std::uint8_t* row = rows_.data() + (std::size_t{index_[i]} * width + k) * 2;
        percent[i] = row[0];
        held_down[i] = row[1];
      }
      if (scores_.empty()) continue;
      for (std::size_t i = 0; i < count; ++i)
        species.score[begin + i] = scores_[std::size_t{index_[i]} * width + k];
    }
  }

 private:
  void compile(std::uint32_t entry) {
    for (const JointGroup::Axis& axis : group_.axes)
      byte_of_slot_[axis.slot] = axis.example[entry / axis.stride % axis.example.size()];
    const std::size_t width = group_.species.size();
    for (std::size_t k = 0; k < width; ++k) {
      const SpeciesPlan& plan = model_.plans[group_.species[k]];
      const Verdict verdict =
          judge(plan, byte_of_slot_, {responses_.data(), plan.factors.size()}, scratch_[k]);
      const std::size_t at = std::size_t{entry} * width + k;
      rows_[at * 2] = verdict.percent;
      rows_[at * 2 + 1] = verdict.held_down;
      if (!scores_.empty()) scores_[at] = float(verdict.score);
    }
    compiled_[entry] = 1;
  }

  const Model::Inside& model_;
  JointGroup group_;
  std::vector<std::uint8_t> compiled_;
  std::vector<std::uint8_t> rows_;  ///< per entry and species: percent, held-down category
  std::vector<float> scores_;
  std::vector<std::uint32_t> index_;
  std::vector<std::uint8_t> byte_of_slot_;
  std::vector<double> responses_;
  std::vector<RuleTree::Scratch> scratch_;
};

/// Counts class values that no legend names.
class UnknownClasses {
 public:
  UnknownClasses(std::size_t slot, const LayerInfo& info) : slot_(slot), info_(info) {
    for (std::size_t raw = 0; raw < 256; ++raw) {
      unknown_[raw] = !info.byte_none[raw] && !info.classes.contains((long long)(raw));
      if (unknown_[raw]) continue;
      if (known_.empty() || known_.back().first + known_.back().more + 1U != raw)
        known_.push_back({std::uint8_t(raw), 0});
      else
        ++known_.back().more;
    }
    for (const auto& entry : info.classes) legend_.push_back(double(entry.first));
  }

  void count(const Tile& tile) {
    const LayerTile& layer = tile.layers[slot_];
    if (info_.bytes) {
      if (all_known(layer.bytes)) return;
      for (const std::uint8_t raw : layer.bytes)
        if (unknown_[raw]) ++cells_[raw];
      return;
    }
    double last = no_value;
    for (const float raw : layer.values) {
      const double value = double(raw);
      if (std::isnan(value) || value == last) continue;
      if (std::binary_search(legend_.begin(), legend_.end(), value))
        last = value;
      else
        ++cells_[std::llround(value)];
    }
  }
  [[nodiscard]] const std::map<long long, std::int64_t>& cells() const { return cells_; }
  [[nodiscard]] const std::string& layer() const { return info_.name; }

 private:
  /// Values that follow one another, all of them known.
  struct Known {
    std::uint8_t first = 0, more = 0;
  };

  /// Compares with every run of known values, sixteen bytes or more at once: quicker than a look-up a byte.
  [[nodiscard]] bool all_known(const std::vector<std::uint8_t>& bytes) const {
    constexpr std::size_t most = 256;
    std::array<std::uint8_t, most> known{};
    for (std::size_t begin = 0; begin < bytes.size(); begin += most) {
      const std::size_t count = std::min(most, bytes.size() - begin);
      const std::uint8_t* at = bytes.data() + begin;
      std::fill_n(known.begin(), count, std::uint8_t{0});
      for (const Known& run : known_) {
        for (std::size_t i = 0; i < count; ++i)
          known[i] = std::uint8_t(known[i] | (std::uint8_t(at[i] - run.first) <= run.more ? 1 : 0));
      }
      std::uint8_t all = 1;
      for (std::size_t i = 0; i < count; ++i) all &= known[i];
      if (all == 0) return false;
    }
    return true;
  }

  std::size_t slot_;
  const LayerInfo& info_;
  std::vector<Known> known_;
  std::array<std::uint8_t, 256> unknown_{};
  std::vector<double> legend_;
  std::map<long long, std::int64_t> cells_;
};

}  // namespace

struct Scorer::Inside {
  Model model;  // keeps alive what the rest refers to
  bool with_float = false;
  std::vector<JointTable> tables;
  std::vector<std::pair<std::shared_ptr<const ByteLanes>, ByteLanes::Work>> lanes;
  std::vector<bool> wanted;
  struct OfSpecies {
    std::size_t species = 0;
    bool for_tables = false;  ///< whether site tables are made of its scores
    SpeciesKernel kernel;
  };
  std::vector<OfSpecies> kernels;
  std::vector<UnknownClasses> unknown;

  void score(const Tile& tile, bool tabled, ScoreTile& out);
};

Scorer::Scorer(const Model& model, bool with_float, const std::vector<bool>& wanted)
    : inside_(std::make_unique<Inside>()) {
  inside_->model = model;
  inside_->with_float = with_float;
  const Model::Inside& parts = inside_->model.inside();
  for (JointGroup group : parts.joint) {
    std::erase_if(group.species, [&](std::size_t s) { return !wanted.empty() && !wanted[s]; });
    if (!group.species.empty()) inside_->tables.emplace_back(parts, std::move(group), with_float);
  }
  inside_->wanted = wanted;
  const auto is_wanted = [&](std::size_t s) { return wanted.empty() || wanted[s]; };
  for (const auto& lanes : parts.lanes) {
    const std::vector<std::size_t>& species = lanes->species();
    if (!with_float && std::any_of(species.begin(), species.end(), is_wanted))
      inside_->lanes.emplace_back(lanes, lanes->work());
    // Lanes know whole percents only.
    for (const std::size_t s : species)
      if (with_float && is_wanted(s))
        inside_->kernels.push_back({s, false, SpeciesKernel(parts.plans[s], parts.infos)});
  }
  for (const std::size_t s : parts.by_kernels) {
    const bool for_tables =
        std::find(parts.by_scores.begin(), parts.by_scores.end(), s) != parts.by_scores.end();
    inside_->kernels.push_back({s, for_tables, SpeciesKernel(parts.plans[s], parts.infos)});
  }
  for (std::size_t slot = 0; slot < parts.infos.size(); ++slot)
    if (parts.infos[slot].kind == LayerKind::classes) inside_->unknown.emplace_back(slot, parts.infos[slot]);
}

Scorer::~Scorer() = default;
Scorer::Scorer(Scorer&&) noexcept = default;

void Scorer::Inside::score(const Tile& tile, bool tabled, ScoreTile& out) {
  const std::size_t cells = tile.window.cells();
  out.window = tile.window;
  out.species.resize(model.species().size());
  const auto make_room = [&](SpeciesTile& species) {
    species.percent.resize(cells);
    species.held_down.resize(cells);
    species.score.resize(with_float ? cells : 0);
  };
  if (tabled)
    for (SpeciesTile& species : out.species) make_room(species);
  else
    for (const OfSpecies& of : kernels)
      if (of.for_tables) make_room(out.species[of.species]);
  for (std::size_t begin = 0; begin < cells; begin += span_cells) {
    const std::size_t count = std::min(span_cells, cells - begin);
    if (tabled) {
      for (JointTable& table : tables) table.score(tile, begin, count, out);
      for (auto& [by_lane, work] : lanes) {
        for (std::size_t part = 0; part < count; part += ByteLanes::most_cells)
          by_lane->score(tile, begin + part, std::min(ByteLanes::most_cells, count - part), wanted, work,
                         out);
      }
    }
    for (OfSpecies& of : kernels) {
      if (!tabled && !of.for_tables) continue;
      SpeciesTile& species = out.species[of.species];
      of.kernel.score(tile, begin, count, tabled, species.percent.data() + begin,
                      species.held_down.data() + begin, with_float ? species.score.data() + begin : nullptr);
    }
  }
}

void Scorer::score(const Tile& tile, ScoreTile& out) {
  inside_->score(tile, true, out);
  look_for_unknown(tile);
}

void Scorer::score_untabled(const Tile& tile, ScoreTile& out) {
  inside_->score(tile, false, out);
  look_for_unknown(tile);
}

void Scorer::look_for_unknown(const Tile& tile) {
  for (UnknownClasses& layer : inside_->unknown) layer.count(tile);
}

std::vector<Scorer::UnknownClass> Scorer::unknown_classes() const {
  std::vector<UnknownClass> all;
  for (const UnknownClasses& layer : inside_->unknown)
    for (const auto& [value, cells] : layer.cells()) all.push_back({layer.layer(), value, cells});
  return all;
}

}  // namespace swardline
