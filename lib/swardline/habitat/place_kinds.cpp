#include "swardline/habitat/place_kinds.hpp"

#include "swardline/habitat/model_parts.hpp"

namespace swardline {

std::optional<PlaceKinds> PlaceKinds::of(const Model& model) {
  const Model::Inside& inside = model.inside();
  if (!inside.by_kernels.empty() || inside.joint.size() != 1) return {};
  return PlaceKinds(model, inside.joint.front().entries);
}

void PlaceKinds::read(const Tile& tile, std::vector<std::uint32_t>& kinds) const {
  const std::size_t cells = tile.window.cells();
  kinds.assign(cells, 0);
  for (const JointGroup::Axis& axis : model_.inside().joint.front().axes) {
    const std::uint8_t* bytes = tile.layers[axis.slot].bytes.data();
    for (std::size_t i = 0; i < cells; ++i) kinds[i] += axis.offset[bytes[i]];
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
