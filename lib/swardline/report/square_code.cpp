#include "swardline/report/square_code.hpp"

#include <fmt/format.h>
#include <qrencode.h>

#include <memory>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {

std::string square_code(std::string_view text) {
  constexpr std::size_t longest = 60;
  constexpr int light = 4, size_from_library = 0;
  if (text.empty() || text.size() > longest) return {};
  const std::string words(text);
  const std::unique_ptr<QRcode, decltype(&QRcode_free)> code(
      QRcode_encodeString(words.c_str(), size_from_library, QR_ECLEVEL_M, QR_MODE_8, 1), &QRcode_free);
  if (!code) throw Error(Status::defect, {}, fmt::format("no square code could be made of '{}'", words), "");
  const int size = code->width + 2 * light;
  // Dark runs are strokes along the rows: a third of the text that boxes would take.
  std::string path;
  for (int y = 0; y < code->width; ++y) {
    const auto dark = [&](int x) { return x < code->width && (code->data[y * code->width + x] & 1) != 0; };
    int pen = -1;
    for (int x = 0; x < code->width; ++x) {
      if (!dark(x)) continue;
      int end = x;
      while (dark(end)) ++end;
      path += pen < 0 ? fmt::format("M{} {}.5h{}", x + light, y + light, end - x)
                      : fmt::format("m{} 0h{}", x - pen, end - x);
      pen = x = end;
    }
  }
  return fmt::format(
      "<svg class=\"square\" viewBox=\"0 0 {} {}\" role=\"img\" aria-label=\"{}\" "
      "shape-rendering=\"crispEdges\"><path class=\"dark\" d=\"{}\"/></svg>",
      size, size, xml_escape("square code: " + words), path);
}

}  // namespace swardline
