#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/season/days.hpp"
#include "swardline/season/read_shown.hpp"
#include "swardline/season/readers.hpp"
#include "swardline/season/toml_table.hpp"

namespace swardline {
namespace {

constexpr Range weights{.low = 0, .high = 1000, .above_low = true};
constexpr Range shares{0, 1};
constexpr Range floors{.low = 0, .high = 1, .below_high = true};
constexpr double inf = std::numeric_limits<double>::infinity();

const std::vector<std::string> role_words = {"limiting", "modifying"};
const std::vector<std::string> rule_words = {"lowest", "geometric", "arithmetic", "graded"};
const std::vector<std::string> sensitivity_words = {"none", "low", "medium", "high", "extreme"};

class SheetReader {
 public:
  SheetReader(const TomlFile& file, const toml::table& top) : at_(file, top, "", "", 1) {
    sheet_.file = file.file;
    sheet_.place = {file.file, 0, {}};
  }

  Sheet read() {
    read_head();
    for (const TomlTable& each : at_.tables("group")) read_group(each);
    for (TomlTable& each : factors()) read_factor(each);
    for (const TomlTable& each : at_.tables("mask")) read_mask(each);
    if (const auto combine = at_.table("combine")) read_combine(*combine, sheet_.combine);
    if (const auto traits = at_.table("traits")) sheet_.traits = read_shown_states(*traits);
    for (const TomlTable& each : at_.tables("look_alike")) read_look_alike(each);
    return std::move(sheet_);
  }

 private:
  std::vector<TomlTable> factors() {
    std::vector<TomlTable> tables = at_.tables("factor");
    if (!at_.has("factor") && sheet_.scored && !at_.has("scored")) {
      at_.stop(at_.place(), "empty rule", "has no [[factor]] and does not say scored = false.",
               "Add factors, or write scored = false for a species that is monitored, not scored.");
    } else if (!at_.has("factor") && sheet_.scored) {
      at_.stop(at_.place("scored"), "empty rule", "says scored = true and has no [[factor]].",
               "Add factors, or write scored = false.");
    } else if (!sheet_.scored && at_.has("factor")) {
      at_.stop(at_.place("scored"), "rule of an unscored species", "says scored = false and has factors.",
               "Take the factors out, or write scored = true.");
    }
    return tables;
  }

  void read_head() {
    if (at_.require("code")) take(at_.text("code"), sheet_.code);
    if (at_.has("code")) sheet_.place.line = at_.place("code").line;
    if (at_.require("name")) take(at_.text("name"), sheet_.name);
    take(at_.text("common"), sheet_.common);
    take(at_.whole("version", 1, 1000000), sheet_.version);
    take(at_.yes_no("scored"), sheet_.scored);
    if (const auto word = at_.choice("sensitivity", sensitivity_words))
      sheet_.sensitivity = sensitivity_words[*word];
    sheet_.window = read_window(at_);
  }

  void read_combine(const TomlTable& at, Combine& combine) {
    if (const auto rule = at.choice("rule", rule_words)) combine.rule = static_cast<Rule>(*rule);
    take(at.number("limiting_power", shares), combine.limiting_power);
    combine.floor = at.number("floor", floors);
    if (combine.rule == Rule::arithmetic) {
      at.add(Severity::note, at.place("rule"), "arithmetic rule",
             "rule = \"arithmetic\" lets a zero be bought off: good light can make up for open water.",
             "Keep it only where that is meant.");
    }
    if (combine.rule != Rule::graded && at.has("limiting_power")) {
      at.add(Severity::note, at.place("limiting_power"), "key without effect",
             "limiting_power has an effect with rule = \"graded\" only.", "Take it out, or choose graded.");
    }
  }

  void read_group(const TomlTable& at) {
    Group group;
    group.place = at.place();
    const bool named = at.require("name");
    take(at.text("name"), group.name);
    take(at.text("within"), group.within);
    if (const auto role = at.choice("role", role_words)) group.role = static_cast<Role>(*role);
    take(at.number("weight", weights), group.weight);
    read_combine(at, group.combine);
    if (named && !group.name.empty()) sheet_.groups.push_back(std::move(group));
  }

  void read_factor(TomlTable& at) {
    Factor factor;
    factor.place = at.place();
    const bool named = at.require("layer");
    take(at.text("layer"), factor.layer);
    if (!factor.layer.empty()) at.speak_of(fmt::format("{} {}: ", subject(), factor.layer));
    if (const auto role = at.choice("role", role_words)) factor.role = static_cast<Role>(*role);
    take(at.number("weight", weights), factor.weight);
    take(at.text("why"), factor.why);
    take(at.text("group"), factor.group);
    const bool sound = read_response(at, factor.response);
    if (named && sound && !factor.layer.empty()) sheet_.factors.push_back(std::move(factor));
  }

  bool read_response(const TomlTable& at, Response& response) {
    const bool trapezoid = at.has("trapezoid"), points = at.has("points");
    const bool classes = at.has("scores") || at.has("excluded") || at.has("otherwise");
    const int kinds = int(trapezoid) + int(points) + int(classes);
    if (kinds != 1) {
      at.stop(at.place(), "response", kinds == 0 ? "has no response." : "has more than one kind of response.",
              "Give one: trapezoid, points, or scores of classes (with excluded and otherwise).");
      return false;
    }
    if (trapezoid) return read_trapezoid(at, response);
    return points ? read_points(at, response) : read_classes(at, response);
  }

  static bool read_trapezoid(const TomlTable& at, Response& response) {
    Range any;
    any.infinite = true;
    const auto corners = at.numbers("trapezoid", any);
    if (!corners) return false;
    const Place place = at.place("trapezoid");
    if (corners->size() != 4) {
      at.stop(place, "trapezoid", fmt::format("trapezoid has {} corners, it needs four.", corners->size()),
              "Write it like trapezoid = [20, 26, 38, 46], with -inf or inf for an open shoulder.");
      return false;
    }
    const auto& t = *corners;
    bool sound = true;
    for (std::size_t i = 1; i < 4; ++i) {
      if (t[i] >= t[i - 1]) continue;
      at.stop(place, "corners fall", fmt::format("{} comes before {}.", shortest(t[i - 1]), shortest(t[i])),
              "Corners must rise.");
      sound = false;
    }
    if (!sound) return false;
    // A ramp needs two ends: an open shoulder is open from its first corner on.
    const bool low_open = std::isinf(t[0]), high_open = std::isinf(t[3]);
    if (low_open != std::isinf(t[1]) || high_open != std::isinf(t[2]) || t[0] == inf || t[1] == inf ||
        t[2] == -inf || t[3] == -inf) {
      at.stop(place, "open shoulder", "trapezoid has one end of a slope at infinity.",
              "An open shoulder is written twice: [-inf, -inf, 25, 60], or [0, 8, inf, inf].");
      return false;
    }
    if (low_open && high_open) {
      at.add(Severity::ask, place, "factor without effect",
             "trapezoid is open on both sides, so it is always 1.",
             "Give it corners, or take the factor out.");
    }
    response = Trapezoid{t[0], t[1], t[2], t[3]};
    return true;
  }

  static bool read_points(const TomlTable& at, Response& response) {
    const toml::node& node = *at.find("points");
    const std::string shown = "[[0.75, 0], [0.9, 1], [1.06, 1]]";
    const toml::array* list = node.as_array();
    if (!list) {
      at.wrong_type("points", node, "a list of pairs", shown);
      return false;
    }
    Polyline line;
    bool sound = true;
    for (const toml::node& item : *list) {
      const toml::array* pair = item.as_array();
      if (!pair || pair->size() != 2) {
        at.stop(at.place_of(item), "wrong type", "points must hold pairs of a value and a response.",
                fmt::format("Write it like points = {}.", shown));
        return false;
      }
      const auto value = at.number_of("value of a point", (*pair)[0], {});
      const auto answer = at.number_of("response of a point", (*pair)[1], shares);
      if (value && answer) {
        line.points.emplace_back(*value, *answer);
      } else {
        sound = false;
      }
    }
    if (!sound) return false;
    if (line.points.size() < 2) {
      at.stop(at.place("points"), "points", "points needs at least two pairs.",
              fmt::format("Write it like points = {}.", shown));
      return false;
    }
    for (std::size_t i = 1; i < line.points.size(); ++i) {
      if (line.points[i].first > line.points[i - 1].first) continue;
      at.stop(at.place_of((*list)[i]), "points fall",
              fmt::format("{} comes before {}.", shortest(line.points[i - 1].first),
                          shortest(line.points[i].first)),
              "Values of points must rise.");
      sound = false;
    }
    response = std::move(line);
    return sound;
  }

  static bool read_classes(const TomlTable& at, Response& response) {
    ClassTable classes;
    if (const auto scores = at.table("scores")) {
      scores->each([&](const std::string& code, const toml::node& node) {
        // An unsound score still counts as listed, so that the class is not reported twice.
        classes.scores[code] = scores->number_of(code, node, shares).value_or(0);
      });
    }
    if (const auto excluded = at.texts("excluded")) {
      for (const std::string& code : *excluded) {
        if (classes.scores.count(code)) {
          at.stop(at.place("excluded"), "scored and excluded",
                  fmt::format("{} is scored and excluded.", code), "Keep it in one of them.");
        }
        classes.excluded.insert(code);
      }
    }
    classes.otherwise = at.number("otherwise", shares);
    if (classes.scores.empty() && classes.excluded.empty()) {
      at.stop(at.place(), "empty rule", "scores no class and excludes none.",
              "Write scores = { WM = 1.0, MP = 0.9 }, or excluded = [\"OW\"].");
      return false;
    }
    response = std::move(classes);
    return true;
  }

  void read_mask(TomlTable at) {
    Mask mask;
    mask.place = at.place();
    const bool named = at.require("layer");
    take(at.text("layer"), mask.layer);
    if (!mask.layer.empty()) at.speak_of(fmt::format("{} mask on {}: ", subject(), mask.layer));
    mask.keep_below = at.number("keep_below", {});
    mask.keep_above = at.number("keep_above", {});
    take(at.text("reason"), mask.reason);
    if (!at.has("keep_below") && !at.has("keep_above")) {
      at.stop(at.place(), "mask", "keeps everything.", "Write keep_below = 260 or keep_above = 120.");
    } else if (mask.keep_below && mask.keep_above && *mask.keep_below <= *mask.keep_above) {
      at.stop(at.place("keep_below"), "mask",
              fmt::format("nothing is above {} and below {}.", shortest(*mask.keep_above),
                          shortest(*mask.keep_below)),
              "keep_above must be less than keep_below.");
    }
    if (named && !mask.layer.empty()) sheet_.masks.push_back(std::move(mask));
  }

  void read_look_alike(const TomlTable& at) {
    LookAlike look_alike;
    look_alike.place = at.place();
    if (at.require("of")) take(at.text("of"), look_alike.of);
    if (at.require("tell")) take(at.text("tell"), look_alike.tell);
    if (!look_alike.of.empty()) sheet_.look_alikes.push_back(std::move(look_alike));
  }

  [[nodiscard]] std::string subject() const { return sheet_.code.empty() ? sheet_.file : sheet_.code; }

  TomlTable at_;
  Sheet sheet_;
};

}  // namespace

Sheet read_sheet(std::string_view text, const std::string& file, Flags& flags) {
  const toml::table top = parse_toml(text, file);
  const TomlFile toml_file{file, sheet_key_specs(), flags};
  Sheet sheet = SheetReader(toml_file, top).read();
  check_rule(sheet, flags);
  return sheet;
}

}  // namespace swardline
