#include "swardline/habitat/place_kinds.hpp"

#include <algorithm>

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

std::optional<PlaceKinds> PlaceKinds::of(const Model& model) {
  const Model::Inside& inside = model.inside();
  if (!inside.by_kernels.empty() || inside.joint.size() != 1) return {};
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

}  // namespace swardline
