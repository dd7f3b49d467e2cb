#include "swardline/report/factor_chart.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/report/html_table.hpp"

namespace swardline {
namespace {

constexpr double chart_width = 960, left = 84, right = 20, legend = 30;
constexpr double rule_height = 64, gap = 22, seen_height = 170, foot = 74, row_height = 14;
constexpr double farthest = 2.2;      // the scale's end, in highest means
constexpr double letter_width = 6.2;  // of 12 pixels, in common sans-serif faces
constexpr const char* ink = "#14212b";
constexpr const char* hue = "#24557f";
constexpr const char* pale = "#dbe8f2";

/// A step of 1, 2 or 5 times a power of ten that makes at most `most` steps of `all`.
double step_for(double all, int most) {
  const double rough = all / most;
  const double power = std::pow(10, std::floor(std::log10(rough)));
  for (const double times : {1.0, 2.0, 5.0})
    if (times * power >= rough * (1 - 1e-9)) return times * power;
  return 10 * power;
}

std::string tick_text(double value, double step) {
  return grouped_decimals(value, std::clamp(int(std::ceil(-std::log10(step) - 1e-9)), 0, 6));
}

std::string text_at(double x, double y, const std::string& says, const char* anchor = "middle") {
  return fmt::format("<text x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"{}\">{}</text>\n", x, y, anchor,
                     xml_escape(says));
}

std::string path(const std::string& d, const char* look) {
  return fmt::format("<path d=\"{}\" {}/>\n", d, look);
}

constexpr const char* axis_look = "fill=\"none\" stroke=\"#14212b\"";
constexpr const char* grid_look = "fill=\"none\" stroke=\"#cfd8e0\"";
constexpr const char* whisker_look = "fill=\"none\" stroke=\"#14212b\" stroke-width=\"1.3\"";
constexpr const char* bar_look = "fill=\"none\" stroke=\"#24557f\" stroke-width=\"4\"";
constexpr const char* upper_look =
    "fill=\"none\" stroke=\"#14212b\" stroke-width=\"1.3\" stroke-dasharray=\"6 4\"";
constexpr const char* mark_look = "fill=\"#fff\" stroke=\"#14212b\" stroke-width=\"1.2\"";

std::string dot(double x, double y, bool found) {
  return fmt::format(
      "<circle cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"4.5\" fill=\"{}\" stroke=\"{}\" stroke-width=\"1.5\"/>\n", x,
      y, found ? ink : "#fff", ink);
}

std::string triangle(double x, double y) {
  return path(fmt::format("M{:.1f} {:.1f}h10l-5 8z", x - 5, y - 8), mark_look);
}

class Drawing {
 public:
  explicit Drawing(const FactorChart& chart) : chart_(chart) {
    from_ = chart.parts.front().from;
    to_ = chart.parts.front().to;
    for (const ChartPart& part : chart.parts) {
      from_ = std::min(from_, part.from);
      to_ = std::max(to_, part.to);
      most_ = std::max(most_, part.seen);
    }
    for (const auto& [value, response] : chart.response) {
      from_ = std::min(from_, value);
      to_ = std::max(to_, value);
    }
    if (!(to_ > from_)) {
      from_ -= 0.5;
      to_ += 0.5;
    }
    // Limits and marks far above the means end at the top, so that the means can still be told apart.
    const double seen = most_;
    const auto reach = [&](double density) {
      most_ = std::max(most_, seen > 0 ? std::min(density, farthest * seen) : density);
    };
    for (const ChartPart& part : chart.parts) {
      if (part.limited) reach(part.high);
      reach(part.upper);
    }
    for (const auto& [value, density] : chart.upper) reach(density);
    if (!(most_ > 0)) most_ = 1;
    const double step = step_for(most_, 4);
    most_ = step * std::ceil(most_ / step - 1e-9);
    step_ = step;
    has_rule_ = chart.classes || !chart.response.empty();
    seen_top_ = legend + (has_rule_ ? rule_height + gap : 0) + 8;
    height_ = seen_top_ + seen_height + foot;
    counts_ = counts();
    if (!two_rows_) height_ -= row_height;
  }

  [[nodiscard]] std::string svg() const {
    std::string out = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
        "style=\"width:100%;height:auto\" font-family=\"'Liberation Sans',Arial,sans-serif\" "
        "font-size=\"12\" "
        "fill=\"{2}\" aria-labelledby=\"{3}-title {3}-desc\">\n<title id=\"{3}-title\">{4}</title>\n"
        "<desc id=\"{3}-desc\">{5}</desc>\n",
        chart_width, height_, ink, chart_.id, xml_escape(chart_.title), xml_escape(described()));
    out += legend_row() + scales();
    if (has_rule_) out += rule();
    if (!chart_.upper.empty()) out += upper_line();
    for (const ChartPart& part : chart_.parts) out += seen(part);
    return out + counts_ + "</svg>\n";
  }

 private:
  [[nodiscard]] double x(double value) const {
    return left + (chart_width - left - right) * (value - from_) / (to_ - from_);
  }
  [[nodiscard]] double y(double density) const {
    return seen_top_ + seen_height * (1 - std::clamp(density, 0.0, most_) / most_);
  }
  [[nodiscard]] static double rule_y(double response) { return legend + 8 + rule_height * (1 - response); }
  [[nodiscard]] double bottom() const { return seen_top_ + seen_height; }
  [[nodiscard]] double middle(const ChartPart& part) const { return x((part.from + part.to) / 2); }

  [[nodiscard]] std::string described() const {
    std::string text;
    for (const ChartPart& part : chart_.parts) {
      text += fmt::format("{}: {} of {} plots occupied, {} stems per hectare", part.label, part.occupied,
                          part.plots, grouped_decimals(part.seen, 0));
      if (part.limited)
        text += fmt::format(" ({} to {})", grouped_decimals(part.low, 0), grouped_decimals(part.high, 0));
      if (!std::isnan(part.response) && has_rule_) text += fmt::format(", rule {:.2f}", part.response);
      text += ". ";
    }
    return text;
  }

  [[nodiscard]] std::string legend_row() const {
    double at = left;
    std::string out;
    const auto add = [&](const std::string& mark, const std::string& says) {
      out += mark + text_at(at + 16, 16, says, "start");
      at += 16 + letter_width * double(says.size()) + 26;
    };
    add(dot(at + 5, 12, true), "mean density with limits");
    add(dot(at + 5, 12, false), "none found, with the most there may be");
    add(triangle(at + 5, 16), chart_.upper_words);
    if (!chart_.upper.empty()) add(path(fmt::format("M{:.1f} 12h14", at - 2), upper_look), "its line");
    return out;
  }

  [[nodiscard]] std::string scales() const {
    std::string out;
    for (int i = 0; double(i) * step_ <= most_ * (1 + 1e-9); ++i) {
      const double value = double(i) * step_;
      out += path(fmt::format("M{:.1f} {:.1f}H{:.1f}", left, y(value), chart_width - right), grid_look) +
             text_at(left - 8, y(value) + 4, tick_text(value, step_), "end");
    }
    out += path(fmt::format("M{:.1f} {:.1f}V{:.1f}H{:.1f}", left, seen_top_, bottom(), chart_width - right),
                axis_look);
    out += fmt::format(
        "<text transform=\"translate(16 {:.1f}) rotate(-90)\" text-anchor=\"middle\">stems/ha</text>\n",
        seen_top_ + seen_height / 2);
    if (chart_.classes) {
      for (const ChartPart& part : chart_.parts) out += text_at(middle(part), bottom() + 17, part.label);
    } else {
      const double step = step_for(to_ - from_, 10);
      for (double tick = std::ceil(from_ / step - 1e-9) * step; tick <= to_ + 1e-9 * step; tick += step)
        out += path(fmt::format("M{:.1f} {:.1f}v5", x(tick), bottom()), axis_look) +
               text_at(x(tick), bottom() + 17, tick_text(tick, step));
    }
    return out + text_at(left + (chart_width - left - right) / 2, height_ - 8, chart_.axis);
  }

  [[nodiscard]] std::string rule() const {
    std::string out;
    for (const double response : {0.0, 1.0})
      out +=
          path(fmt::format("M{:.1f} {:.1f}H{:.1f}", left, rule_y(response), chart_width - right), grid_look) +
          text_at(left - 8, rule_y(response) + 4, response > 0 ? "1" : "0", "end");
    out += fmt::format(
        "<text transform=\"translate(16 {:.1f}) rotate(-90)\" text-anchor=\"middle\">rule</text>\n",
        rule_y(0.5));
    if (chart_.classes) {
      for (const ChartPart& part : chart_.parts) {
        const double wide = std::min(46.0, x(part.to) - x(part.from) - 6);
        out += fmt::format(
                   "<rect x=\"{:.1f}\" y=\"{:.1f}\" width=\"{:.1f}\" height=\"{:.1f}\" fill=\"{}\" "
                   "stroke=\"{}\"/>\n",
                   middle(part) - wide / 2, rule_y(part.response), wide, rule_y(0) - rule_y(part.response),
                   pale, ink) +
               text_at(middle(part),
                       part.response > 0.7 ? rule_y(part.response) + 14 : rule_y(part.response) - 4,
                       fmt::format("{:.2f}", part.response));
      }
      return out;
    }
    std::string line;
    for (const auto& [value, response] : chart_.response)
      line += fmt::format("{}{:.1f} {:.1f}", line.empty() ? "M" : "L", x(value), rule_y(response));
    out += path(line + fmt::format("L{:.1f} {:.1f}L{:.1f} {:.1f}z", x(chart_.response.back().first),
                                   rule_y(0), x(chart_.response.front().first), rule_y(0)),
                fmt::format("fill=\"{}\" stroke=\"none\"", pale).c_str());
    return out + path(line, fmt::format("fill=\"none\" stroke=\"{}\" stroke-width=\"2.2\"", hue).c_str());
  }

  [[nodiscard]] std::string upper_line() const {
    std::string line;
    for (const auto& [value, density] : chart_.upper)
      line += fmt::format("{}{:.1f} {:.1f}", line.empty() ? "M" : "L", x(value), y(density));
    return path(line, upper_look);
  }

  [[nodiscard]] std::string seen(const ChartPart& part) const {
    if (part.plots == 0) return {};
    const double at = middle(part);
    // Classes and bands fill their place; ranges of a measure are drawn over the values that they hold.
    const double half = chart_.classes ? std::min(23.0, (x(part.to) - x(part.from)) / 2 - 3)
                                       : std::max(5.0, (x(part.to) - x(part.from)) / 2 - 1);
    std::string out =
        path(fmt::format("M{:.1f} {:.1f}H{:.1f}", at - half, y(part.seen), at + half), bar_look);
    if (part.limited) {
      out += path(fmt::format("M{:.1f} {:.1f}V{:.1f}M{:.1f} {:.1f}h10", at, y(part.low), y(part.high), at - 5,
                              y(part.low)),
                  whisker_look);
      out += part.high <= most_
                 ? path(fmt::format("M{:.1f} {:.1f}h10", at - 5, y(part.high)), whisker_look)
                 : path(fmt::format("M{:.1f} {:.1f}l5 -7l5 7", at - 5, seen_top_ + 7), whisker_look);
    }
    if (part.occupied > 0 && part.plots > 1) {
      out += triangle(at, y(part.upper));
      if (part.upper > most_) out += text_at(at + 9, seen_top_ - 1, grouped_decimals(part.upper, 0), "start");
    }
    return out + dot(at, y(part.seen), part.occupied > 0);
  }

  // "3 of 12" below each part; where two would touch, the second moves down a line.
  [[nodiscard]] std::string counts() {
    std::string out;
    double free[2] = {left - 40, left - 40};
    for (const ChartPart& part : chart_.parts) {
      const std::string says = fmt::format("{} of {}", part.occupied, part.plots);
      const double half = letter_width * double(says.size()) / 2 + 3, at = middle(part);
      const std::size_t row = at - half >= free[0] ? 0 : 1;
      if (at - half < free[row]) continue;
      free[row] = at + half;
      two_rows_ = two_rows_ || row == 1;
      out += text_at(at, bottom() + 34 + row_height * double(row), says);
    }
    return out;
  }

  const FactorChart& chart_;
  double from_ = 0, to_ = 1, most_ = 0, step_ = 1, seen_top_ = 0, height_ = 0;
  bool has_rule_ = false, two_rows_ = false;
  std::string counts_;
};

}  // namespace

std::string svg_factor_chart(const FactorChart& chart) {
  return chart.parts.empty() ? std::string() : Drawing(chart).svg();
}

}  // namespace swardline
