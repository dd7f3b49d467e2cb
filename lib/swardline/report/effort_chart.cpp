#include "swardline/report/effort_chart.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/report/chart_text.hpp"

namespace swardline {
namespace {

constexpr double bar_width_all = 960, bar_left = 210, bar_right = 790, bar_head = 34, bar_step = 22,
                 bar_height = 14;

std::string piece(const char* kind, double& x, double y, int plots, double per_plot) {
  if (plots == 0) return {};
  const double wide = plots * per_plot;
  const std::string out =
      fmt::format("<rect class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.0f}\"/>", kind,
                  x, y, wide, bar_height);
  x += wide;
  return out;
}

}  // namespace

std::string svg_effort_chart(const EffortChart& chart) {
  if (chart.bars.empty()) return {};
  int most = 1;
  for (const EffortBar& bar : chart.bars)
    most = std::max(most, bar.counted + bar.not_counted + bar.outstanding);
  const double per_plot = (bar_right - bar_left) / most;
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart efforts\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
      "role=\"img\" aria-labelledby=\"{2}-title {2}-desc\">\n<title id=\"{2}-title\">{3}</title>\n"
      "<desc id=\"{2}-desc\">{4}</desc>\n",
      bar_width_all, bar_head + bar_step * double(chart.bars.size()) + 6, chart.id, xml_escape(chart.title),
      xml_escape(chart.message));
  double x = bar_left;
  for (const auto& [kind, says] :
       {std::pair("done", "counted"), std::pair("lost", "not counted, with a reason"),
        std::pair("due", "nothing has come back")}) {
    out += fmt::format(
        "<rect class=\"{}\" x=\"{:.0f}\" y=\"4\" width=\"24\" height=\"14\"/><text x=\"{:.0f}\" "
        "y=\"16\">{}</text>\n",
        kind, x, x + 30, says);
    x += 190;
  }
  double y = bar_head;
  for (const EffortBar& bar : chart.bars) {
    out += fmt::format("<text x=\"{:.0f}\" y=\"{:.1f}\" text-anchor=\"end\">{}</text>", bar_left - 12, y + 11,
                       xml_escape(fitted(bar.label, bar_left - 16)));
    x = bar_left;
    // One after the other: each begins where the one before has ended.
    out += piece("done", x, y, bar.counted, per_plot);
    out += piece("lost", x, y, bar.not_counted, per_plot);
    out += piece("due", x, y, bar.outstanding, per_plot);
    out += fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\">{} of {}</text>\n", x + 8, y + 11,
                       grouped(bar.counted), grouped(bar.counted + bar.not_counted + bar.outstanding));
    y += bar_step;
  }
  return out + "</svg>\n";
}

}  // namespace swardline
