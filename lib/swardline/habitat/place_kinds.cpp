#include "swardline/habitat/place_kinds.hpp"

#include <algorithm>
#include <cstring>
#include <utility>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

std::optional<PlaceKinds> PlaceKinds::of(const Model& model) {
  const Model::Inside& inside = model.inside();
  if (!inside.by_kernels.empty() || !inside.lanes.empty() || inside.joint.size() != 1) return {};
  return PlaceKinds(model, inside.joint.front().entries);
}

void PlaceKinds::read(const Tile& tile, std::vector<std::uint32_t>& kinds) const {
  const std::size_t cells = tile.window.cells();
  kinds.resize(cells);
  const std::vector<JointGroup::Axis>& axes = model_.inside().joint.front().axes;
  const auto bytes = [&](const JointGroup::Axis& axis) { return tile.layers[axis.slot].bytes.data(); };
  // Two axes at a time: what is written and read again in between costs as much as the look-ups.
  std::size_t next = 0;
  if (axes.size() < 2) {
    std::fill(kinds.begin(), kinds.end(), 0);
  } else {
    const std::uint8_t *a = bytes(axes[0]), *b = bytes(axes[1]);
    for (std::size_t i = 0; i < cells; ++i) kinds[i] = axes[0].offset[a[i]] + axes[1].offset[b[i]];
    next = 2;
  }
  for (; next < axes.size(); ++next) {
    const std::uint8_t* a = bytes(axes[next]);
    for (std::size_t i = 0; i < cells; ++i) kinds[i] += axes[next].offset[a[i]];
  }
}

Tile PlaceKinds::example(std::uint32_t kind) const {
  const Model::Inside& inside = model_.inside();
  Tile tile;
  tile.window = {0, 0, 1, 1};
  tile.layers.resize(inside.infos.size());
  for (LayerTile& layer : tile.layers) layer.bytes.assign(1, 0);
  for (const JointGroup::Axis& axis : inside.joint.front().axes)
    tile.layers[axis.slot].bytes[0] = axis.example[kind / axis.stride % axis.example.size()];
  return tile;
}

KindCodes::KindCodes(const PlaceKinds& kinds, std::function<std::uint8_t(std::uint32_t kind)> code_of)
    : kinds_(kinds), code_of_(std::move(code_of)), of_kind_(kinds.count(), not_met) {
  const Model::Inside& inside = kinds_.model().inside();
  for (const LayerInfo& info : inside.infos) {
    std::array<bool, 256>& known = known_.emplace_back();
    for (std::size_t raw = 0; raw < known.size(); ++raw)
      known[raw] = info.kind != LayerKind::classes || info.byte_none[raw] ||
                   info.classes.contains(static_cast<long long>(raw));
  }
  constexpr std::size_t pairs = std::size_t{256} * 256;
  if (inside.infos.size() == 2 && inside.joint.front().axes.size() == 2) of_pair_.assign(pairs, not_met);
}

bool KindCodes::read(const Tile& tile, std::vector<std::uint8_t>& codes) {
  const std::size_t cells = tile.window.cells();
  codes.resize(cells);
  if (!of_pair_.empty()) {
    const std::uint8_t *a = tile.layers[0].bytes.data(), *b = tile.layers[1].bytes.data();
    const auto look_up = [&] {
      for (std::size_t i = 0; i < cells; ++i) codes[i] = of_pair_[std::size_t{a[i]} << 8 | b[i]];
      return std::memchr(codes.data(), not_met, cells) == nullptr;
    };
    if (look_up()) return true;
    learn_pairs(tile);
    if (look_up()) return true;
  }
  learn(tile, codes);
  for (std::size_t slot = 0; slot < tile.layers.size(); ++slot) {
    const std::array<bool, 256>& known = known_[slot];
    const std::vector<std::uint8_t>& bytes = tile.layers[slot].bytes;
    if (!std::all_of(bytes.begin(), bytes.end(), [&](std::uint8_t raw) { return known[raw]; })) return false;
  }
  return true;
}

void KindCodes::learn(const Tile& tile, std::vector<std::uint8_t>& codes) {
  kinds_.read(tile, kind_of_cell_);
  for (std::size_t i = 0; i < kind_of_cell_.size(); ++i) {
    std::uint8_t& code = of_kind_[kind_of_cell_[i]];
    if (code == not_met) code = code_of_(kind_of_cell_[i]);
    codes[i] = code;
  }
}

void KindCodes::learn_pairs(const Tile& tile) {
  std::vector<std::uint8_t> codes(tile.window.cells());
  learn(tile, codes);
  const std::vector<std::uint8_t>&a = tile.layers[0].bytes, &b = tile.layers[1].bytes;
  for (std::size_t i = 0; i < codes.size(); ++i) {
    if (known_[0][a[i]] && known_[1][b[i]]) of_pair_[std::size_t{a[i]} << 8 | b[i]] = codes[i];
  }
}

}  // namespace swardline
