#include "swardline/habitat/place_values.hpp"

#include <cmath>

namespace swardline {

LayerValue PlaceValues::of(const std::string& layer) const {
  LayerValue value;
  const auto index = layers_.index(layer);
  if (!index) {
    value.none = true;
    return value;
  }
  const LayerInfo& info = layers_.infos()[*index];
  const LayerTile& tile = tile_.layers[*index];
  const double raw = info.bytes ? double(tile.bytes.front()) : double(tile.values.front());
  value.none = info.bytes ? info.byte_none[tile.bytes.front()] : std::isnan(raw);
  if (value.none) return value;
  if (info.kind == LayerKind::measure) {
    value.number = info.value(raw);
    return value;
  }
  value.number = raw;
  for (const auto& [key, code] : info.classes)
    if (double(key) == raw) value.class_code = code;
  return value;
}

}  // namespace swardline
