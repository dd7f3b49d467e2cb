#include "swardline/report/bar_chart.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

constexpr double width = 720, numbers = 60, line = 30, top = 34;
constexpr double letter = 6.8;  // of 12 pixels, in common sans-serif faces
constexpr std::size_t longest_name = 40;

/// Cut between characters, not inside one.
std::string cut(const std::string& name) {
  std::size_t letters = 0, at = 0;
  while (at < name.size() && letters < longest_name) {
    ++at;
    while (at < name.size() && (static_cast<unsigned char>(name[at]) & 0xC0U) == 0x80U) ++at;
    ++letters;
  }
  return at < name.size() ? name.substr(0, at) + "…" : name;
}

double room_for_names(const std::vector<Bar>& bars) {
  std::size_t most = 4;
  for (const Bar& bar : bars) most = std::max(most, std::min(bar.label.size(), longest_name + 1));
  return letter * double(most) + 12;
}

std::string bar(const char* kind, double names, double y, double share_of_most, double percent) {
  const double length = (width - names - numbers) * share_of_most;
  return fmt::format(
      "<rect class=\"{}\" x=\"{:.0f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"11\"/>"
      "<text class=\"value\" x=\"{:.1f}\" y=\"{:.1f}\">{:.1f}</text>\n",
      kind, names, y, length, names + length + 6, y + 9.5, percent);
}

}  // namespace

std::string svg_bar_chart(const BarChart& chart) {
  double most = 1;
  for (const Bar& bar : chart.bars) most = std::max({most, bar.first, bar.second});
  const double names = room_for_names(chart.bars);
  const double height = top + line * double(chart.bars.size()) + 4;
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
      "role=\"img\" "
      "aria-labelledby=\"{2}-title\">\n<title id=\"{2}-title\">{3}</title>\n"
      "<rect class=\"first\" x=\"{4:.0f}\" y=\"4\" width=\"22\" height=\"11\"/><text x=\"{5:.0f}\" "
      "y=\"14\">{6}</text>\n<rect class=\"second\" x=\"{7:.0f}\" y=\"4\" width=\"22\" height=\"11\"/><text "
      "x=\"{8:.0f}\" y=\"14\">{9}</text>\n",
      width, height, chart.id, xml_escape(chart.title), names, names + 28, xml_escape(chart.first),
      names + 230, names + 258, xml_escape(chart.second));
  double y = top;
  for (const Bar& each : chart.bars) {
    out += fmt::format("<text x=\"{:.0f}\" y=\"{:.1f}\" text-anchor=\"end\">{}</text>\n", names - 8, y + 15,
                       xml_escape(cut(each.label)));
    out += bar("first", names, y, each.first / most, each.first) +
           bar("second", names, y + 12, each.second / most, each.second);
    y += line;
  }
  return out + "</svg>\n";
}

}  // namespace swardline
