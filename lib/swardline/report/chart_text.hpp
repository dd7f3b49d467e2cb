// Texts that must fit beside a drawing. Private to this folder.
#pragma once

#include <string>
#include <string_view>

namespace swardline {

/// Width in pixels at 12 pixels, see text_fit.hpp: a pixel of a drawing is a point of type.
[[nodiscard]] double text_width(std::string_view text);
/// The text, or as much of it as fits with an ellipsis; cut between characters, not inside one.
[[nodiscard]] std::string fitted(const std::string& text, double pixels);

}  // namespace swardline
