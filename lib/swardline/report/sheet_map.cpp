#include "swardline/report/sheet_map.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/geo/magnetic.hpp"
#include "swardline/report/map_drawing.hpp"
#include "swardline/report/sheet_inset.hpp"
#include "swardline/report/sheet_labels.hpp"
#include "swardline/report/sheet_layout.hpp"
#include "swardline/report/sheet_outline.hpp"

namespace swardline {
namespace {

using sheet::map_height;
using sheet::map_width;

constexpr double frame_left = 4.4, frame_top = 3.6, frame_right = map_width - 4.4;
constexpr double frame_bottom = map_height - 13.4;  ///< under it ticks, scale, north and what hatching means
constexpr double least_ground_m = 60;
constexpr const char* hatches[] = {"hx-a", "hx-b", "hx-c", "hx-d"};

/// Pieces of one reason share a hatching; reasons beyond those there are share the last.
std::map<std::string, const char*> hatch_of(const std::vector<ExcludedPiece>& excluded) {
  std::map<std::string, const char*> hatch;
  for (const ExcludedPiece& piece : excluded)
    if (!piece.area.empty() && !hatch.contains(piece.reason))
      hatch[piece.reason] = hatches[std::min(hatch.size(), std::size(hatches) - 1)];
  return hatch;
}

std::string excluded_ground(const SheetGround& ground, const SheetView& view) {
  const auto hatch = hatch_of(ground.excluded);
  std::string out;
  for (const ExcludedPiece& piece : ground.excluded)
    if (!piece.area.empty())
      out += fmt::format("<path class=\"cut {}\" d=\"{}\"/>\n", hatch.at(piece.reason),
                         map_outline(piece.area, view));
  return out;
}

/// Both edges of a verge are a hair apart on paper.
bool is_verge(const SiteSheet& sheet) {
  return std::any_of(sheet.walk->plots.begin(), sheet.walk->plots.end(),
                     [](const SheetPlot& at) { return at.plot->segment(); });
}

bool shows(const SheetView& view, Point at) {
  return at.x >= view.ground.x0 && at.x <= view.ground.x1 && at.y >= view.ground.y0 && at.y <= view.ground.y1;
}

std::string access_marks(const SiteSheet& sheet, const SheetGround& ground, const SheetView& view) {
  std::string out;
  const Box seen = view.ground;
  for (const Barrier& barrier : ground.barriers)
    for (const auto& part : barrier.lines) {
      Box box{part.front().x, part.front().y, part.front().x, part.front().y};
      for (const Point at : part) box.grow({at.x, at.y, at.x, at.y});
      if (!box.meets(seen)) continue;
      const std::string path = map_polyline(part, view);
      out += fmt::format("<path class=\"fence\" d=\"{0}\"/><path class=\"posts\" d=\"{0}\"/>\n", path);
    }
  for (const auto& crossing : ground.crossings) {
    const Point at = crossing.size() > 1 ? Point{(crossing.front().x + crossing.back().x) / 2,
                                                 (crossing.front().y + crossing.back().y) / 2}
                                         : crossing.front();
    if (shows(view, at))
      out +=
          fmt::format("<path class=\"crossing\" d=\"M{:.2f} {:.2f}m-1.4 -1.4l2.8 2.8m0 -2.8l-2.8 2.8\"/>\n",
                      view.x(at.x), view.y(at.y));
  }
  if (sheet.walk->start && shows(view, *sheet.walk->start))
    out += fmt::format(
        "<rect class=\"parking\" x=\"{0:.2f}\" y=\"{1:.2f}\" width=\"4\" height=\"4\"/>"
        "<text class=\"p\" x=\"{2:.2f}\" y=\"{3:.2f}\">{4}</text>\n",
        view.x(sheet.walk->start->x) - 2, view.y(sheet.walk->start->y) - 2, view.x(sheet.walk->start->x),
        view.y(sheet.walk->start->y) + 1.2, sheet.walk->parking ? "P" : "E");
  return out;
}

/// The ways as they are walked, dotted.
std::string walk_line(const SiteSheet& sheet, const SheetView& view) {
  std::string path;
  for (std::size_t i = sheet.begin; i < sheet.end; ++i)
    if (const std::vector<Point>& way = sheet.leg_to(i).line; !way.empty()) path += map_polyline(way, view);
  return path.empty() ? path : fmt::format("<path class=\"walk\" d=\"{}\"/>\n", path);
}

std::string plot_shape(const SheetPlot& at, const SheetGround& ground, const SheetView& view) {
  if (at.transect != nullptr) {
    std::string path;
    for (const auto& part : lines_of(at.transect->line)) path += map_polyline(part, view);
    return fmt::format("<path class=\"transect\" d=\"{}\"/>\n", path);
  }
  if (ground.plan.sample.reach_m() * view.mm_per_m < 1.6 || at.plot->segment()) return {};
  return fmt::format("<path class=\"unit\" d=\"{}\"/>\n",
                     map_outline(plot_polygon(ground.plan.sample.shape, ground.plan.sample.size_m,
                                              {at.plot->east, at.plot->north}, at.plot->grid_bearing_deg),
                                 view));
}

std::string plot_marks(const SiteSheet& sheet, const SheetGround& ground, const SheetView& view,
                       std::string& labels) {
  std::string out;
  SheetLabels placed({frame_left, frame_top, frame_right, frame_bottom});
  const std::vector<SheetPlot>& plots = sheet.walk->plots;
  for (std::size_t i = 0; i < plots.size(); ++i)
    if (const Plot& plot = *plots[i].plot; shows(view, {plot.east, plot.north}))
      placed.keep_off(view.x(plot.east), view.y(plot.north), i >= sheet.begin && i < sheet.end ? 1 : 0.6);
  if (sheet.walk->start) placed.keep_off(view.x(sheet.walk->start->x), view.y(sheet.walk->start->y), 2.2);
  if (view.inset) placed.keep_off(*view.inset);
  for (std::size_t i = 0; i < plots.size(); ++i) {
    const Plot& plot = *plots[i].plot;
    if (!shows(view, {plot.east, plot.north})) continue;
    const double x = view.x(plot.east), y = view.y(plot.north);
    if (i < sheet.begin || i >= sheet.end) {
      out += fmt::format("<circle class=\"other\" cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"0.6\"/>\n", x, y);
      continue;
    }
    out += plot_shape(plots[i], ground, view);
    out +=
        plot.spare
            ? fmt::format("<rect class=\"spare\" x=\"{:.2f}\" y=\"{:.2f}\" width=\"1.7\" height=\"1.7\"/>\n",
                          x - 0.85, y - 0.85)
            : fmt::format("<circle class=\"plot\" cx=\"{:.2f}\" cy=\"{:.2f}\" r=\"0.9\"/>\n", x, y);
    labels += placed.place(std::to_string(plots[i].order), plot.name, x, y);
  }
  return out;
}

double round_down_length(double metres) {
  const double power = std::pow(10, std::floor(std::log10(metres)));
  for (const double step : {5.0, 2.0})
    if (step * power <= metres) return step * power;
  return power;
}

/// Scale bar in metres and paces.
std::string scale_bar(const SheetView& view, int pace_cm) {
  const double metres = round_down_length(34 / view.mm_per_m);
  const double width = metres * view.mm_per_m;
  const double x = frame_left, y = map_height - 5;
  return fmt::format(
      "<path class=\"rule\" d=\"M{0:.2f} {1:.2f}v1.6h{2:.2f}v-1.6m{3:.2f} 0v1.6\"/>"
      "<text x=\"{0:.2f}\" y=\"{4:.2f}\">{5:g} m = {6:.0f} paces of {7} cm</text>\n",
      x, y, width, -width / 2, y + 4.6, metres, metres * 100 / pace_cm, pace_cm);
}

/// True north with an arrow, magnetic north with a tick.
std::string norths(const SheetGround& ground, const SheetView& view) {
  const double convergence = drawn_convergence_deg(view.ground.middle(), ground.to_wgs84);
  const double x = frame_left + 46, y = map_height - 0.4;
  std::string out = fmt::format(
      "<g transform=\"translate({:.2f} {:.2f}) rotate({:.2f})\"><path class=\"rule\" d=\"M0 0V-5.2\"/>"
      "<path d=\"M0 -6.2l-1.1 2.6h2.2z\"/>",
      x, y, -convergence);
  if (ground.declination_deg)
    out += fmt::format("<path class=\"magnetic\" transform=\"rotate({:.2f})\" d=\"M0 0V-6.4\"/>",
                       *ground.declination_deg);
  return out + fmt::format("</g><text x=\"{:.2f}\" y=\"{:.2f}\">true N{}</text>\n", x + 2.4, y,
                           ground.declination_deg
                               ? ", dashed magnetic: " + declination_text(*ground.declination_deg)
                               : std::string());
}

/// What ticks and signs mean, in two lines.
std::array<std::string, 2> sign_words(const SiteSheet& sheet, const FrameTicks& ticks) {
  return {fitted(ticks.says, 58, sheet::text), std::string(sheet.walk->parking ? "P parking" : "E entry") +
                                                   " \u00D7 crossing |||| fence, water" +
                                                   (sheet.loops > 1 ? " \u25CB others" : "")};
}

/// Signs, and right of them what hatching means; three reasons are the most a sheet has room for.
std::string meanings(const SiteSheet& sheet, const SheetGround& ground, const FrameTicks& ticks) {
  constexpr std::size_t most = 3;
  constexpr double apart = 3.2;
  const auto hatch = hatch_of(ground.excluded);
  std::string out;
  double y = frame_bottom + 3, x = 0;
  for (const std::string& words : sign_words(sheet, ticks)) {
    out += fmt::format("<text x=\"{:g}\" y=\"{:.2f}\">{}</text>\n", frame_left, y, xml_escape(words));
    x = std::max(x, frame_left + text_mm(words, sheet::text) + 1);
    y += apart;
  }
  y = frame_bottom + 0.8;
  std::size_t shown = 0;
  for (const auto& [reason, pattern] : hatch) {
    const bool last = ++shown == most && hatch.size() > most;
    const std::string text = last ? "keep out: others" : "keep out: " + reason;
    out += fmt::format(
        "<rect class=\"cut {}\" x=\"{:.2f}\" y=\"{:.2f}\" width=\"4\" height=\"2.5\"/>"
        "<text x=\"{:.2f}\" y=\"{:.2f}\">{}</text>\n",
        pattern, x, y, x + 4.6, y + 2.2, xml_escape(fitted(text, map_width - x - 4.6, sheet::text)));
    y += apart;
    if (shown == most) break;
  }
  return out;
}

std::string tick_marks(const FrameTicks& ticks) {
  std::string out;
  const auto label = [&](double x, double y, const std::string& text, bool upright) {
    out += upright ? fmt::format(
                         "<text class=\"tk\" transform=\"translate({:.2f} {:.2f}) rotate(-90)\">{}</text>\n",
                         x, y, text)
                   : fmt::format("<text class=\"tk\" x=\"{:.2f}\" y=\"{:.2f}\">{}</text>\n", x, y, text);
  };
  const auto inside = [](double at, double from, double to) { return at > from + 7 && at < to - 7; };
  for (const FrameTick& tick : ticks.top) {
    out += fmt::format("<path class=\"rule\" d=\"M{:.2f} {:.2f}v2\"/>", tick.at, frame_top);
    if (inside(tick.at, frame_left, frame_right)) label(tick.at, frame_top - 0.7, tick.text, false);
  }
  for (const FrameTick& tick : ticks.bottom)
    out += fmt::format("<path class=\"rule\" d=\"M{:.2f} {:.2f}v-2\"/>", tick.at, frame_bottom);
  for (const FrameTick& tick : ticks.left) {
    out += fmt::format("<path class=\"rule\" d=\"M{:.2f} {:.2f}h2\"/>", frame_left, tick.at);
    if (inside(tick.at, frame_top, frame_bottom)) label(frame_left - 0.7, tick.at, tick.text, true);
  }
  for (const FrameTick& tick : ticks.right)
    out += fmt::format("<path class=\"rule\" d=\"M{:.2f} {:.2f}h-2\"/>", frame_right, tick.at);
  return out + "\n";
}

std::string described(const SiteSheet& sheet) {
  std::size_t spares = 0;
  for (std::size_t i = sheet.begin; i < sheet.end; ++i) spares += sheet.walk->plots[i].plot->spare ? 1U : 0U;
  return fmt::format("Map of {} with {} plots and {} spares, numbered as in the table below",
                     sheet.walk->code, sheet.end - sheet.begin - spares, spares);
}

/// What a map shows, as it grows.
class Shown {
 public:
  void add(const Box& more) { box_ ? box_->grow(more) : void(box_ = more); }
  void add(Point at) { add(Box{at.x, at.y, at.x, at.y}); }
  /// Unless it lies far off: a parking place there would make the plots a speck.
  void add_near(const std::vector<Point>& more) {
    Shown with = *this;
    for (const Point& at : more) with.add(at);
    if (with.box_ && (!box_ || with.size() < 1.6 * std::max(size(), least_ground_m))) box_ = with.box_;
  }
  [[nodiscard]] const std::optional<Box>& box() const { return box_; }

 private:
  [[nodiscard]] double size() const { return std::max(box_->x1 - box_->x0, box_->y1 - box_->y0); }
  std::optional<Box> box_;
};

Box ground_shown(const SiteSheet& sheet, const SheetGround& ground) {
  Shown shown;
  if (sheet.loops == 1 && !ground.survey.empty()) shown.add(ground.survey.box());
  const std::vector<SheetPlot>& plots = sheet.walk->plots;
  for (std::size_t i = sheet.begin; i < sheet.end; ++i)
    shown.add(Point{plots[i].plot->east, plots[i].plot->north});
  for (std::size_t i = sheet.begin + 1; i < sheet.end; ++i) shown.add_near(plots[i].leg.line);
  if (sheet.walk->start) {
    std::vector<Point> first{*sheet.walk->start};
    if (sheet.begin < sheet.end) first = plots[sheet.begin].from_start.line;
    first.push_back(*sheet.walk->start);
    shown.add_near(first);
  }
  if (shown.box()) return *shown.box();
  return ground.survey.empty() ? Box{0, 0, least_ground_m, least_ground_m} : ground.survey.box();
}

/// The ground in the frame's left part of that width, and what lies right of it.
SheetView view_within(const Box& box, bool whole, double used_width) {
  const double width = frame_right - frame_left, height = frame_bottom - frame_top;
  const double margin = (whole ? 0.05 : 0.12) * std::max(box.x1 - box.x0, box.y1 - box.y0);
  const double wide = std::max(box.x1 - box.x0 + 2 * margin, least_ground_m);
  const double high = std::max(box.y1 - box.y0 + 2 * margin, least_ground_m);
  SheetView view;
  view.mm_per_m = std::min(used_width / wide, height / high);
  const Point middle = box.middle();
  const double west = middle.x - used_width / view.mm_per_m / 2;
  view.ground = {west, middle.y - height / view.mm_per_m / 2, west + width / view.mm_per_m,
                 middle.y + height / view.mm_per_m / 2};
  view.left = frame_left;
  view.top = frame_top;
  return view;
}

bool holds(const Box& outer, const Box& inner) {
  return outer.x0 <= inner.x0 && outer.y0 <= inner.y0 && outer.x1 >= inner.x1 && outer.y1 >= inner.y1;
}

}  // namespace

SheetView sheet_view(const SiteSheet& sheet, const SheetGround& ground) {
  const Box box = ground_shown(sheet, ground);
  const bool whole = sheet.loops == 1;
  const double width = frame_right - frame_left;
  SheetView view = view_within(box, whole, width);
  if (whole || ground.survey.empty() || holds(view.ground, ground.survey.box())) return view;
  const Box frame{frame_left, frame_top, frame_right, frame_bottom};
  view.inset = free_corner(sheet, view, frame);
  if (view.inset) return view;
  view = view_within(box, whole, width - inset_width - 1);
  view.inset = Box{frame_right - inset_width, frame_top, frame_right, frame_top + inset_height};
  return view;
}

std::string sheet_map(const SiteSheet& sheet, const SheetGround& ground) {
  const SheetView view = sheet_view(sheet, ground);
  const FrameTicks ticks = frame_ticks(view, ground.to_wgs84, ground.plan.packet.grid);
  std::string labels;
  const std::string marks = plot_marks(sheet, ground, view, labels);
  return fmt::format(
             "<svg class=\"map\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {0:g} {1:g}\" "
             "role=\"img\" "
             "aria-label=\"{2}\">\n"
             // A picture within the picture cuts off what lies beyond the frame.
             "<svg x=\"{3:g}\" y=\"{4:g}\" width=\"{5:g}\" height=\"{6:g}\" viewBox=\"{3:g} {4:g} {5:g} "
             "{6:g}\">\n",
             map_width, map_height, xml_escape(described(sheet)), frame_left, frame_top,
             frame_right - frame_left, frame_bottom - frame_top) +
         excluded_ground(ground, view) +
         fmt::format("<path class=\"survey{}\" d=\"{}\"/>\n", is_verge(sheet) ? " verge" : "",
                     map_outline(ground.survey, view)) +
         walk_line(sheet, view) + marks + access_marks(sheet, ground, view) + labels +
         inset_markup(sheet, ground, view) + "</svg>\n" +
         fmt::format("<rect class=\"frame\" x=\"{:g}\" y=\"{:g}\" width=\"{:g}\" height=\"{:g}\"/>\n",
                     frame_left, frame_top, frame_right - frame_left, frame_bottom - frame_top) +
         tick_marks(ticks) + scale_bar(view, ground.plan.packet.pace_cm) + norths(ground, view) +
         meanings(sheet, ground, ticks) + "</svg>\n";
}

std::string sheet_patterns() {
  // Lines lie within their tile: at its edge half of them would be cut off.
  const auto pattern = [](const char* id, int turn, double apart, bool crossed) {
    const double middle = apart / 2;
    return fmt::format(
        "<pattern id=\"{0}\" width=\"{1:g}\" height=\"{1:g}\" patternUnits=\"userSpaceOnUse\" "
        "patternTransform=\"rotate({2})\"><path d=\"M{3:g} 0V{1:g}{4}\"/></pattern>",
        id, apart, turn, middle, crossed ? fmt::format("M0 {:g}H{:g}", middle, apart) : std::string());
  };
  return "<svg class=\"patterns\" xmlns=\"http://www.w3.org/2000/svg\" width=\"0\" height=\"0\" "
         "aria-hidden=\"true\"><defs>" +
         pattern("hx-a", 45, 1.6, false) + pattern("hx-b", -45, 2.4, false) + pattern("hx-c", 45, 2, true) +
         pattern("hx-d", 90, 1.4, false) + "</defs></svg>\n";
}

}  // namespace swardline
