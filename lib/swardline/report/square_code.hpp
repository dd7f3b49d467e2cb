// A square code that a phone or a scanner reads. Private to this folder.
#pragma once

#include <string>
#include <string_view>

namespace swardline {

/// The text as a QR code (ISO/IEC 18004, error correction M) in inline SVG, with the four light modules about
/// it that readers need; empty where the text is empty or has more than 60 bytes, which would make the
/// modules too small for a photocopier. Throws Error where the library cannot make it.
[[nodiscard]] std::string square_code(std::string_view text);

}  // namespace swardline
