#include "swardline/report/interval_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>

#include "swardline/base/text.hpp"
#include "swardline/report/chart_text.hpp"
#include "swardline/report/html_table.hpp"

namespace swardline {
namespace {

constexpr double all_width = 960, names_width = 210, words_width = 250, step = 24, below = 46;
constexpr double left_edge = names_width, right_edge = all_width - words_width;
constexpr double wide_range = 30;  // from which on steps of ten are read better than equal ones

double nice_step(double all, int most) {
  const double rough = all / most, power = std::pow(10, std::floor(std::log10(rough)));
  for (const double times : {1.0, 2.0, 5.0})
    if (times * power >= rough * (1 - 1e-9)) return times * power;
  return 10 * power;
}

class Axis {
 public:
  explicit Axis(const IntervalChart& chart) {
    double least = std::numeric_limits<double>::infinity(), most = 0, lowest = 0;
    for (const IntervalRow& row : chart.rows)
      for (const auto& mark : {row.first, row.second}) {
        if (!mark) continue;
        const double high = mark->high.value_or(mark->value);
        if (std::isfinite(high)) most = std::max(most, high);
        lowest = std::min({lowest, mark->value, mark->low.value_or(0.0)});
        if (mark->none) continue;
        // A limit far below its estimate would stretch the axis over empty room.
        if (mark->value > 0)
          least = std::min(least, std::max(mark->low.value_or(mark->value), mark->value / wide_range));
      }
    logarithmic_ = !chart.signs && std::isfinite(least) && most > wide_range * least;
    if (logarithmic_) {
      from_ = std::floor(std::log10(least) + 1e-9);
      to_ = std::max(from_ + 1, std::log10(most) + 0.02);
      return;
    }
    if (most <= lowest) most = lowest + 1;
    step_ = nice_step(most - lowest, 6);
    from_ = step_ * std::floor(lowest / step_ + 1e-9);
    to_ = step_ * std::ceil(most / step_ - 1e-9);
  }

  [[nodiscard]] double x(double value) const {
    const double at = logarithmic_ ? (value > 0 ? std::log10(value) : from_) : value;
    return left_edge + (right_edge - left_edge) * std::clamp((at - from_) / (to_ - from_), 0.0, 1.0);
  }
  [[nodiscard]] bool cut_low(double value) const { return logarithmic_ && std::log10(value) < from_ - 1e-9; }
  [[nodiscard]] bool logarithmic() const { return logarithmic_; }
  [[nodiscard]] std::vector<std::pair<double, std::string>> ticks() const {
    std::vector<std::pair<double, std::string>> all;
    if (logarithmic_) {
      for (double power = from_; power <= to_ + 1e-9; ++power)
        all.emplace_back(std::pow(10, power), shortest_grouped(std::pow(10, power)));
      return all;
    }
    for (int i = 0; from_ + i * step_ <= to_ + 1e-9 * step_; ++i)
      all.emplace_back(
          from_ + i * step_,
          grouped_decimals(from_ + i * step_, std::clamp(int(std::ceil(-std::log10(step_) - 1e-9)), 0, 6)));
    return all;
  }

 private:
  static std::string shortest_grouped(double value) {
    return value >= 1 ? grouped(std::llround(value)) : shortest(std::round(value * 1e6) / 1e6);
  }
  bool logarithmic_ = false;
  double from_ = 0, to_ = 1, step_ = 1;
};

std::string label_at(double x, double y, const std::string& says, const char* anchor, bool bold = false) {
  return fmt::format("<text x=\"{:.0f}\" y=\"{:.0f}\"{}{}>{}</text>\n", x, y,
                     std::string_view(anchor) == "start" ? "" : fmt::format(" text-anchor=\"{}\"", anchor),
                     bold ? " font-weight=\"bold\"" : "", xml_escape(says));
}

std::string point_of(double x, double y, bool second, bool found) {
  if (second)
    return fmt::format("<path class=\"second-mark\" d=\"M{:.1f} {:.1f}l4.5 4.5-4.5 4.5-4.5-4.5z\"/>", x,
                       y - 4.5);
  return fmt::format("<circle class=\"{}\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"4.5\"/>",
                     found ? "mark" : "no-mark", x, y);
}

std::string interval(const IntervalMark& mark, const Axis& axis, double y, bool second) {
  std::string out;
  const double from = mark.none ? axis.x(0) : axis.x(mark.low.value_or(mark.value));
  const double to = axis.x(mark.high.value_or(mark.value));
  if (mark.high) {
    out += fmt::format("<path class=\"{}\" d=\"M{:.1f} {:.1f}H{:.1f}m0-4v8",
                       mark.none ? "limit open" : "limit", from, y, to);
    if (!mark.none && mark.low) {
      // An arrow where the limit lies beyond the axis.
      out += axis.cut_low(*mark.low) ? fmt::format("M{:.1f} {:.1f}l-5 4 5 4", from + 5, y - 4)
                                     : fmt::format("M{:.1f} {:.1f}v8", from, y - 4);
    }
    out += "\"/>";
  }
  return out + point_of(mark.none ? axis.x(0) : axis.x(mark.value), y, second, !mark.none) + "\n";
}

bool any_none_found(const IntervalChart& chart) {
  return std::any_of(chart.rows.begin(), chart.rows.end(),
                     [](const IntervalRow& row) { return row.first && row.first->none; });
}

/// Room above the rows, for the legend where there is one.
double head_of(const IntervalChart& chart) {
  return chart.first.empty() && chart.second.empty() && !any_none_found(chart) ? 12 : 34;
}

std::string legend_of(const IntervalChart& chart) {
  std::string out;
  double x = left_edge;
  const auto add = [&](const std::string& mark, const std::string& says) {
    out += mark + label_at(x + 12, 16, says, "start");
    x += 12 + text_width(says) + 24;
  };
  if (!chart.first.empty()) add(point_of(x, 12, false, true), chart.first);
  if (!chart.second.empty()) add(point_of(x, 12, true, true), chart.second);
  if (any_none_found(chart))
    add(point_of(x, 12, false, false), "none found: up to the bar there may be some");
  return out;
}

}  // namespace

std::string svg_interval_chart(const IntervalChart& chart) {
  if (chart.rows.empty()) return {};
  const Axis axis(chart);
  const double head = head_of(chart);
  const double bottom = head + step * double(chart.rows.size()) + 4, height = bottom + below;
  std::string out = fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"chart intervals\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
      "role=\"img\" aria-labelledby=\"{2}-title {2}-desc\">\n<title id=\"{2}-title\">{3}</title>\n"
      "<desc id=\"{2}-desc\">{4}</desc>\n",
      all_width, height, chart.id, xml_escape(chart.title), xml_escape(chart.message));
  std::string grid;
  for (const auto& [value, says] : axis.ticks()) {
    grid += fmt::format("M{:.1f} {:.0f}V{:.0f}", axis.x(value), head - 6, bottom);
    out += label_at(axis.x(value), bottom + 16, says, "middle");
  }
  out += fmt::format("<path class=\"grid\" d=\"{}\"/>\n", grid);
  if (chart.signs)
    out += fmt::format("<path class=\"zero\" d=\"M{:.1f} {:.0f}V{:.0f}\"/>\n", axis.x(0), head - 6, bottom);
  out += legend_of(chart);
  double y = head + step / 2;
  for (const IntervalRow& row : chart.rows) {
    out += label_at(left_edge - 12, y + 4, fitted(row.label, names_width - 16), "end", row.whole);
    const bool both = row.first && row.second;
    if (row.second) out += interval(*row.second, axis, both ? y + 5 : y, true);
    if (row.first) out += interval(*row.first, axis, both ? y - 5 : y, false);
    out += label_at(right_edge + 14, y + 4, fitted(row.words, words_width - 16), "start", row.whole);
    y += step;
  }
  return out +
         label_at((left_edge + right_edge) / 2, height - 8,
                  chart.axis + (axis.logarithmic() ? "; every line ten times the one before" : ""),
                  "middle") +
         "</svg>\n";
}

}  // namespace swardline
