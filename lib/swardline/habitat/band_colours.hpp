// The colours of score bands, the same in score maps, styles and site maps.
#pragma once

#include <cstddef>
#include <string>

namespace swardline {

/// Fill of band `band` of `bands`, "#rrggbb": one hue, light to dark, evenly in grey so that a photocopy
/// keeps the order.
[[nodiscard]] std::string band_fill(std::size_t band, std::size_t bands);

}  // namespace swardline
