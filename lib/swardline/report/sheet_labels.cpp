#include "swardline/report/sheet_labels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "swardline/base/text.hpp"
#include "swardline/report/text_fit.hpp"

namespace swardline {
namespace {

constexpr Type number_type{11, true}, name_type{7.5, false};
constexpr double number_height = 3.3, name_height = 2.4;

}  // namespace

SheetLabels::Found SheetLabels::best(double width, double height, double x, double y, double reach) const {
  Found found;
  constexpr int directions = 16;
  for (double away = 1.4; away <= reach; away += 1.4)
    for (int d = 0; d < directions; ++d) {
      const double turn = 2 * std::numbers::pi * d / directions;
      const double east = std::cos(turn), south = std::sin(turn);
      const double left = x + east * away - width * (1 - east) / 2;
      const double top = y + south * away - height * (1 - south) / 2;
      const Box box{left, top, left + width, top + height};
      const bool outside =
          box.x0 < frame_.x0 || box.x1 > frame_.x1 || box.y0 < frame_.y0 || box.y1 > frame_.y1;
      const auto hits =
          std::count_if(taken_.begin(), taken_.end(), [&](const Box& b) { return b.meets(box); });
      const double cost = 10 * double(hits) + (outside ? 100 : 0) + away / 10;
      if (cost < found.cost) found = {box, cost};
    }
  return found;
}

std::string SheetLabels::place(const std::string& number, const std::string& name, double x, double y) {
  const double number_width = text_mm(number, number_type), name_width = text_mm(name, name_type);
  Found found = best(number_width + 0.6 + name_width, number_height, x, y, 5);
  const bool named = found.cost < 10;
  if (!named) found = best(number_width, number_height, x, y, 12);
  taken_.push_back(found.box);
  const double near_x = std::clamp(x, found.box.x0, found.box.x1);
  const double near_y = std::clamp(y, found.box.y0, found.box.y1);
  std::string out;
  if (std::hypot(near_x - x, near_y - y) > 2.2)
    out += fmt::format("<path class=\"lead\" d=\"M{:.2f} {:.2f}L{:.2f} {:.2f}\"/>\n", x, y, near_x, near_y);
  out += fmt::format("<text class=\"order\" x=\"{:.2f}\" y=\"{:.2f}\">{}</text>", found.box.x0,
                     found.box.y1 - 0.4, number);
  if (named)
    out += fmt::format("<text class=\"name\" x=\"{:.2f}\" y=\"{:.2f}\">{}</text>",
                       found.box.x0 + number_width + 0.6, found.box.y1 - 0.4, xml_escape(name));
  return out + "\n";
}

}  // namespace swardline
