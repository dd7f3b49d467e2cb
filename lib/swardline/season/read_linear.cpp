#include "swardline/season/read_linear.hpp"

#include <fmt/format.h>

#include <optional>
#include <string>
#include <utility>

namespace swardline {
namespace {

constexpr Range beside_a_line{.low = 0, .high = 100};
constexpr const char* forms = "a number, an attribute that holds it, or a list of two, left and right";

struct OneMeasure {
  double metres = 0;
  std::string attribute;
};

std::optional<OneMeasure> read_one(const TomlTable& at, const std::string& key, const toml::node& node) {
  if (node.is_string()) {
    auto name = at.text_of(key, node);
    return name ? std::optional(OneMeasure{0, std::move(*name)}) : std::nullopt;
  }
  if (node.is_number()) {
    const auto metres = at.number_of(key, node, beside_a_line);
    return metres ? std::optional(OneMeasure{*metres, {}}) : std::nullopt;
  }
  at.wrong_type(key, node, forms, "[\"left_m\", \"right_m\"]");
  return std::nullopt;
}

/// False where a value could not be read.
bool read_measure(const TomlTable& at, const std::string& key, LineMeasure& measure) {
  if (!at.require(key)) return false;
  const toml::node& node = *at.find(key);
  const toml::array* list = node.as_array();
  if (list != nullptr && list->size() != 2) {
    at.stop(at.place(key), "left and right",
            fmt::format("{} has {} items: it may be {}.", key, list->size(), forms),
            fmt::format("Write for example {} = [\"left_m\", \"right_m\"].", key));
    return false;
  }
  std::optional<OneMeasure> one = list != nullptr ? std::nullopt : read_one(at, key, node);
  for (std::size_t side = 0; side < 2; ++side) {
    if (list != nullptr) one = read_one(at, key, (*list)[side]);
    if (!one) return false;
    measure.metres[side] = one->metres;
    measure.attributes[side] = one->attribute;
  }
  return true;
}

bool no_width(const LineMeasure& width, std::size_t side) {
  return width.attributes[side].empty() && width.metres[side] == 0;
}

}  // namespace

void read_linear(const TomlTable& at, Plan& plan) {
  LinearSpec& linear = plan.sites.linear;
  linear.place = at.place();
  take(at.number("segment_m", {.low = 1, .high = 1000}), linear.segment_m);
  if (const auto sides = at.choice("sides", {"both", "left", "right"}))
    linear.sides = static_cast<LineSides>(*sides);
  const bool has_width = read_measure(at, "width_m", linear.width);
  (void)read_measure(at, "offset_m", linear.offset);
  const bool nothing_left = linear.sides == LineSides::right || no_width(linear.width, 0);
  const bool nothing_right = linear.sides == LineSides::left || no_width(linear.width, 1);
  if (has_width && nothing_left && nothing_right) {
    at.stop(at.place("width_m"), "no verge", "width_m leaves no verge on any side that is surveyed.",
            "Write the metres from the verge's inner edge to its outer edge.");
  }
  if (const auto each = at.whole("each", 1, 1000000)) linear.each = static_cast<int>(*each);
}

void check_segments(const Plan& plan, Flags& flags) {
  const LinearSpec& linear = plan.sites.linear;
  if (linear.sources.empty() || linear.each || plan.sample.each) return;
  flags.add(
      Severity::stop, "how many segments", linear.place,
      "[sites.linear] says no number of segments: total counts plots on site polygons, where a unit has "
      "another size.",
      "Write each = 12 under [sites.linear].");
}

}  // namespace swardline
