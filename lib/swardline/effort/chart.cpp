// Limits against hours as SVG: one line a species, told apart by dashes and by names at the lines' ends,
// so that a photocopy still reads.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/effort/effort.hpp"

namespace swardline {
namespace {

constexpr double left = 70, top = 60, width = 620, height = 360;
constexpr double names_width = 120;
constexpr double most_share = 1.0;  // limits wider than ±100 % say nothing

constexpr const char* dashes[] = {"", "7 3", "2 3", "9 3 2 3", "12 4", "4 4", "1 4", "9 3 2 3 2 3"};

class Chart {
 public:
  Chart(const Effort& effort, const EffortSpec& spec)
      : effort_(effort), most_hours_(effort.hours.back()), spec_(spec) {
    for (const SpeciesEffort& species : effort.species)
      if (!species.reach.empty()) drawn_.push_back(&species);
    // Names at the lines' ends, in the ends' order and far enough apart to read.
    for (const SpeciesEffort* species : drawn_) name_y_.push_back(y(species->reach.back().half_width));
    std::vector<std::size_t> order(drawn_.size());
    for (std::size_t i = 0; i < order.size(); ++i) order[i] = i;
    std::sort(order.begin(), order.end(), [&](auto a, auto b) { return name_y_[a] > name_y_[b]; });
    double lowest = top + height;
    for (const std::size_t i : order) {
      name_y_[i] = std::min(name_y_[i], lowest);
      lowest = name_y_[i] - 14;
    }
  }

  [[nodiscard]] std::string svg(const std::string& title) const {
    std::string out = fmt::format(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:.0f} {1:.0f}\" width=\"{0:.0f}\" "
        "height=\"{1:.0f}\">\n<title>{2}</title>\n<style>text{{font:12px sans-serif;fill:#111}}"
        ".title{{font:bold 16px sans-serif}}.axis{{stroke:#111;fill:none}}.grid{{stroke:#ccc;fill:none}}"
        ".line{{stroke:#38709f;stroke-width:1.8;fill:none}}.mark{{stroke:#111;stroke-dasharray:3 "
        "3}}</style>\n"
        "<rect width=\"100%\" height=\"100%\" fill=\"#fff\"/>\n<text class=\"title\" x=\"{3:.0f}\" "
        "y=\"28\">{2}</text>\n",
        left + width + names_width, top + height + 60, xml_escape(title), left);
    out += fmt::format(
        "<text x=\"{:.0f}\" y=\"48\">limits around the mean at {:.3g} % confidence, ± percent</text>\n", left,
        100 * spec_.confidence);
    out += axes();
    for (std::size_t i = 0; i < drawn_.size(); ++i) out += line(i);
    return out + "</svg>\n";
  }

 private:
  [[nodiscard]] double x(double hours) const { return left + width * hours / most_hours_; }
  [[nodiscard]] static double y(double share) { return top + height * (1 - std::min(share, most_share)); }

  [[nodiscard]] std::string axes() const {
    std::string out;
    for (int percent = 0; percent <= 100; percent += 20)
      out += fmt::format(
          "<path class=\"grid\" d=\"M{0:.1f} {1:.1f}h{2:.1f}\"/><text x=\"{3:.1f}\" y=\"{4:.1f}\" "
          "text-anchor=\"end\">{5}</text>\n",
          left, y(percent / 100.0), width, left - 8, y(percent / 100.0) + 4, percent);
    const double power = std::pow(10, std::floor(std::log10(most_hours_)));
    const double step = most_hours_ / power >= 5 ? power : most_hours_ / power >= 2 ? power / 2 : power / 5;
    for (double hours = 0; hours <= most_hours_; hours += step)
      out += fmt::format(
          "<path class=\"axis\" d=\"M{0:.1f} {1:.1f}v5\"/><text x=\"{0:.1f}\" y=\"{2:.1f}\" "
          "text-anchor=\"middle\">{3}</text>\n",
          x(hours), top + height, top + height + 20, shortest(std::round(hours * 100) / 100));
    out += fmt::format(
        "<path class=\"axis\" d=\"M{0:.1f} {1:.1f}v{2:.1f}h{3:.1f}\"/><text x=\"{4:.1f}\" y=\"{5:.1f}\" "
        "text-anchor=\"middle\">person-hours</text>\n",
        left, top, height, width, left + width / 2, top + height + 44);
    if (spec_.precision && *spec_.precision < most_share)
      out += fmt::format("<path class=\"mark\" d=\"M{:.1f} {:.1f}h{:.1f}\"/>\n", left, y(*spec_.precision),
                         width);
    if (spec_.hours && *spec_.hours < most_hours_)
      out +=
          fmt::format("<path class=\"mark\" d=\"M{:.1f} {:.1f}v{:.1f}\"/>\n", x(*spec_.hours), top, height);
    return out;
  }

  [[nodiscard]] std::string line(std::size_t i) const {
    const SpeciesEffort& species = *drawn_[i];
    std::string path;
    for (std::size_t k = 0; k < effort_.plots.size(); ++k)
      path += fmt::format("{}{:.1f} {:.1f}", k == 0 ? "M" : "L", x(effort_.hours[k]),
                          y(species.reach[k].half_width));
    const char* dash = dashes[i % std::size(dashes)];
    return fmt::format("<path class=\"line\" d=\"{}\"{}/>\n<text x=\"{:.1f}\" y=\"{:.1f}\">{}</text>\n", path,
                       *dash == '\0' ? std::string() : fmt::format(" stroke-dasharray=\"{}\"", dash),
                       left + width + 6, name_y_[i] + 4, xml_escape(species.spread.code));
  }

  const Effort& effort_;
  double most_hours_;
  const EffortSpec& spec_;
  std::vector<const SpeciesEffort*> drawn_;
  std::vector<double> name_y_;
};

}  // namespace

std::string effort_chart(const Effort& effort, const EffortSpec& spec, const std::string& title) {
  if (effort.hours.empty()) return {};
  return Chart(effort, spec).svg(title);
}

}  // namespace swardline
