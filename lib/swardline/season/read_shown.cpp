// What sheets and other plants share: days of flowering and states of characters.
#include "swardline/season/read_shown.hpp"

#include <fmt/format.h>

#include "swardline/season/days.hpp"

namespace swardline {

std::optional<std::pair<DayOfYear, DayOfYear>> read_window(const TomlTable& at) {
  const auto window = at.texts("window");
  if (!window) return std::nullopt;
  const Place place = at.place("window");
  std::vector<DayOfYear> days;
  for (const std::string& text : *window) {
    if (const auto day = day_of_year(text)) {
      days.push_back(*day);
    } else {
      at.stop(place, "window", fmt::format("window: '{}' is no day of the year.", text),
              "Write month-day, like window = [\"05-20\", \"06-25\"].");
    }
  }
  if (days.size() != window->size()) return std::nullopt;
  if (days.size() != 2) {
    at.stop(place, "window", "window must name two days, the first and the last.",
            "Write window = [\"05-20\", \"06-25\"].");
    return std::nullopt;
  }
  const auto number = [](DayOfYear day) { return day.month * 100 + day.day; };
  if (number(days[1]) < number(days[0])) {
    at.add(Severity::ask, place, "window over New Year",
           fmt::format("window runs from {} over New Year to {}.", (*window)[0], (*window)[1]),
           "If that is not meant, write the earlier day first.");
  }
  return std::pair{days[0], days[1]};
}

std::map<std::string, std::vector<std::string>> read_shown_states(const TomlTable& at) {
  std::map<std::string, std::vector<std::string>> shown;
  at.each([&](const std::string& name, const toml::node& node) {
    if (!node.is_array()) {
      if (const auto text = at.text_of(name, node)) shown[name] = {*text};
      return;
    }
    const auto states = at.texts_of(name, node);
    if (!states) return;
    if (states->empty())
      at.stop(at.place_of(node), "empty list", fmt::format("{} names no state.", name),
              "Name what it may show, or leave the trait out.");
    else
      shown[name] = *states;
  });
  return shown;
}

}  // namespace swardline
