// Limits against hours as SVG: one line a species, told apart by dashes and by names at the lines' ends,
// so that a photocopy still reads.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>
#include <utility>

#include "swardline/base/text.hpp"
#include "swardline/effort/effort.hpp"

namespace swardline {
namespace {

constexpr double left = 64, top = 98, width = 600, height = 360;
constexpr double names_width = 175, name_height = 14;
constexpr double most_share = 1.0;  // limits wider than ±100 % say nothing

constexpr const char* dashes[] = {"", "7 3", "2 3", "9 3 2 3", "14 4", "4 4", "1 5", "9 3 2 3 2 3"};

constexpr const char* style =
    "text{font:12px sans-serif;fill:#111}.title{font:bold 16px sans-serif}.axis{stroke:#111;fill:none}"
    ".grid{stroke:#ccc;fill:none}.line{stroke:#1f5f8b;stroke-width:1.8;fill:none}.thin{stroke-width:1}.dot{"
    "fill:#1f5f8b}"
    ".mark{stroke:#111;stroke-dasharray:1 "
    "3;stroke-width:1.4;fill:none}.leader{stroke:#777;fill:none;stroke-width:.8}"
    ".asked{font-weight:bold}";

class Chart {
 public:
  Chart(const Effort& effort, const EffortSpec& spec)
      : effort_(effort), most_hours_(effort.hours.back()), spec_(spec) {
    for (const SpeciesEffort& species : effort.species)
      if (species.spread.unanswered.empty()) drawn_.push_back(&species);
    place_names();
  }

  [[nodiscard]] bool empty() const { return drawn_.empty(); }

  [[nodiscard]] std::string svg(const std::string& title) const {
    std::string out = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" viewBox=\"0 0 {0:.0f} {1:.0f}\" "
        "width=\"{0:.0f}\" "
        "height=\"{1:.0f}\">\n<title>{2}</title>\n<desc>{3}</desc>\n<style>{4}</style>\n"
        "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n"
        "<clipPath id=\"within\"><rect x=\"{5:.0f}\" y=\"{6:.0f}\" width=\"{7:.0f}\" "
        "height=\"{8:.0f}\"/></clipPath>\n"
        "<text class=\"title\" x=\"{9:.0f}\" y=\"28\">{2}</text>\n<text x=\"{9:.0f}\" y=\"48\">{3}</text>\n",
        left + width + names_width, top + height + 60, xml_escape(title), subtitle(), style, left, top,
        width + 3, height + 3, left - 44);
    out += axes() + marks();
    for (std::size_t i = 0; i < drawn_.size(); ++i) out += line(i);
    return out + "</svg>\n";
  }

 private:
  [[nodiscard]] std::string subtitle() const {
    return fmt::format("Half width of each species' limits at {:.3g} % confidence, percent of the mean{}",
                       100 * spec_.confidence, spec_.precision ? "; dotted and bold: what is asked" : "");
  }

  [[nodiscard]] double x(double hours) const { return left + width * hours / most_hours_; }
  [[nodiscard]] static double y(double share) { return top + height * (1 - share / most_share); }
  // Lines that end above the chart end at its edge.
  [[nodiscard]] static double end_of(const SpeciesEffort& species) {
    return y(std::min(*species.reach.back().limits, most_share));
  }

  // Names stand at the lines' ends, in the ends' order, and move apart where they would touch.
  void place_names() {
    for (const SpeciesEffort* species : drawn_) name_y_.push_back(end_of(*species));
    std::vector<std::size_t> order(drawn_.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    std::stable_sort(order.begin(), order.end(), [&](auto a, auto b) { return name_y_[a] < name_y_[b]; });
    double free = top;
    for (const std::size_t i : order) {
      name_y_[i] = std::max(name_y_[i], free);
      free = name_y_[i] + name_height;
    }
    double room = top + height;
    for (auto i = order.rbegin(); i != order.rend(); ++i) {
      name_y_[*i] = std::min(name_y_[*i], room);
      room = name_y_[*i] - name_height;
    }
  }

  [[nodiscard]] std::string axes() const {
    std::string out;
    const double asked = spec_.precision.value_or(-1);
    for (int percent = 0; percent <= 100; percent += 20) {
      out += fmt::format("<path class=\"grid\" d=\"M{:.1f} {:.1f}h{:.1f}\"/>\n", left, y(percent / 100.0),
                         width);
      if (std::abs(y(percent / 100.0) - y(asked)) >= name_height)  // what is asked stands there itself
        out += at_scale("scale", percent / 100.0, percent == 0 ? "0" : fmt::format("±{}", percent));
    }
    const double power = std::pow(10, std::floor(std::log10(most_hours_)));
    const double step = most_hours_ / power >= 5 ? power : most_hours_ / power >= 2 ? power / 2 : power / 5;
    for (int i = 0; i * step <= most_hours_; ++i)
      out += fmt::format(
          "<path class=\"axis\" d=\"M{0:.1f} {1:.1f}v5\"/><text x=\"{0:.1f}\" y=\"{2:.1f}\" "
          "text-anchor=\"middle\">{3}</text>\n",
          x(i * step), top + height, top + height + 20, shortest(std::round(i * step * 100) / 100));
    return out +
           fmt::format(
               "<path class=\"axis\" d=\"M{0:.1f} {1:.1f}v{2:.1f}h{3:.1f}\"/><text x=\"{4:.1f}\" "
               "y=\"{5:.1f}\" text-anchor=\"middle\">person-hours; dots are numbers of the table</text>\n",
               left, top, height, width, left + width / 2, top + height + 44);
  }

  [[nodiscard]] static std::string at_scale(const char* kind, double share, const std::string& says) {
    return fmt::format("<text class=\"{}\" x=\"{:.1f}\" y=\"{:.1f}\" text-anchor=\"end\">{}</text>\n", kind,
                       left - 8, y(share) + 4, says);
  }

  [[nodiscard]] std::string marks() const {
    std::string out;
    if (spec_.precision)
      out += fmt::format("<path class=\"mark\" d=\"M{:.1f} {:.1f}h{:.1f}\"/>", left, y(*spec_.precision),
                         width) +
             at_scale("asked", *spec_.precision, fmt::format("±{:.3g}", 100 * *spec_.precision));
    std::vector<std::pair<double, std::string>> uprights;
    if (spec_.hours) uprights.emplace_back(*spec_.hours, shortest(*spec_.hours) + " person-hours there are");
    if (effort_.planned && effort_.planned_hours > 0)
      uprights.emplace_back(effort_.planned_hours, grouped(*effort_.planned) + " plots planned");
    // The left one speaks above the right one: neither's line runs through the other's words.
    std::sort(uprights.begin(), uprights.end());
    for (std::size_t i = 0; i < uprights.size(); ++i)
      out += upright(uprights[i].first, uprights[i].second, i + 1 < uprights.size() ? top - 22 : top - 8);
    return out;
  }

  [[nodiscard]] std::string upright(double hours, const std::string& says, double y_said) const {
    if (hours > most_hours_) return {};
    return fmt::format(
        "<path class=\"mark\" d=\"M{0:.1f} {1:.1f}V{2:.1f}\"/><text x=\"{0:.1f}\" y=\"{3:.1f}\">{4}</text>\n",
        x(hours), y_said + 3, top + height, y_said, xml_escape(says));
  }

  [[nodiscard]] std::string line(std::size_t i) const {
    const SpeciesEffort& species = *drawn_[i];
    std::string path;
    std::string dots;
    for (std::size_t k = 0; k < effort_.plots.size(); ++k) {
      const double share = *species.reach[k].limits;
      path += fmt::format("{}{:.1f} {:.1f}", k == 0 ? "M" : "L", x(effort_.hours[k]), y(share));
      if (share <= most_share)
        dots += fmt::format("<circle class=\"dot\" cx=\"{:.1f}\" cy=\"{:.1f}\" r=\"2\"/>",
                            x(effort_.hours[k]), y(share));
    }
    // Past the last dash they come again, thinner.
    const char* dash = dashes[i % std::size(dashes)];
    const std::string look =
        fmt::format("class=\"line{}\"{}", i < std::size(dashes) ? "" : " thin",
                    *dash == '\0' ? std::string() : fmt::format(" stroke-dasharray=\"{}\"", dash));
    const bool off = *species.reach.back().limits > most_share;
    return fmt::format(
        "<path {0} clip-path=\"url(#within)\" d=\"{1}\"/>{2}\n<path class=\"leader\" d=\"M{3:.1f} "
        "{4:.1f}L{5:.1f} {6:.1f}\"/><path {0} d=\"M{5:.1f} {6:.1f}h30\"/><text x=\"{7:.1f}\" "
        "y=\"{8:.1f}\">{9}{10}</text>\n",
        look, path, dots, left + width + 3, end_of(species), left + width + 18, name_y_[i], left + width + 53,
        name_y_[i] + 4, xml_escape(species.spread.code), off ? " beyond ±100" : "");
  }

  const Effort& effort_;
  double most_hours_;
  const EffortSpec& spec_;
  std::vector<const SpeciesEffort*> drawn_;
  std::vector<double> name_y_;
};

}  // namespace

std::string effort_chart(const Effort& effort, const EffortSpec& spec, const std::string& title) {
  if (effort.hours.empty() || !(effort.hours.back() > 0)) return {};
  const Chart chart(effort, spec);
  return chart.empty() ? std::string() : chart.svg(title);
}

}  // namespace swardline
