// Visits and cautions held against the rest of the plan.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

// A line of the sheet.
constexpr std::size_t caution_line = 90;

bool is_digit(char c) { return c >= '0' && c <= '9'; }

/// "2027-05-01" begins here: a date is no telephone number.
bool date_begins(std::string_view text) {
  if (text.size() < 10 || text[4] != '-' || text[7] != '-') return false;
  for (const std::size_t i : {0, 1, 2, 3, 5, 6, 8, 9})
    if (!is_digit(text[i])) return false;
  return text.size() == 10 || !is_digit(text[10]);
}

/// Seven digits or more with nothing between them but what people set between the parts of a number.
bool telephone_number_in(std::string_view text) {
  std::size_t digits = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if ((i == 0 || !is_digit(text[i - 1])) && date_begins(text.substr(i))) {
      i += 9;
      digits = 0;
    } else if (is_digit(text[i])) {
      if (++digits >= 7) return true;
    } else if (std::string_view(" -./()+").find(text[i]) == std::string_view::npos) {
      digits = 0;
    }
  }
  return false;
}

bool mail_address_in(std::string_view text) {
  const auto part = [](char c) {
    return is_digit(c) || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '.' || c == '-' ||
           c == '_';
  };
  for (std::size_t at = text.find('@'); at != std::string_view::npos; at = text.find('@', at + 1)) {
    if (at == 0 || !part(text[at - 1])) continue;
    std::size_t end = at + 1;
    while (end < text.size() && part(text[end])) ++end;
    const std::string_view behind = text.substr(at + 1, end - at - 1);
    if (const std::size_t dot = behind.find('.'); dot != std::string_view::npos && dot > 0) return true;
  }
  return false;
}

class VisitChecks {
 public:
  VisitChecks(const Plan& plan, Flags& flags) : plan_(plan), flags_(flags) {}

  void all() {
    for (const auto& [team, people] : plan_.visits.people) check_team(team);
    for (const ClosureSpec& closure : plan_.visits.closures)
      check_text(closure.reason, "the closure's reason", closure.place);
    for (const auto& [site, permission] : plan_.visits.permission)
      check_text(permission.note, fmt::format("[visits.permission.{}] note", site), permission.place);
    for (const CautionSpec& caution : plan_.cautions) check_caution(caution);
    for (const std::string& text : plan_.packet.stop_if)
      check_text(text, "[packet] stop_if", plan_.packet.place);
    check_year();
  }

 private:
  /// Windows and closures of one year would stand on sheets for the plots of another.
  void check_year() {
    if (!plan_.visits.year || !plan_.panels.given || plan_.panels.year <= 0) return;
    if (*plan_.visits.year == plan_.panels.year) return;
    flags_.add(
        Severity::ask, "year of the visits", plan_.visits.place,
        fmt::format("[visits] year is {}, and the plots due are those of [panels] year {}: sheets would "
                    "have the days of another season.",
                    *plan_.visits.year, plan_.panels.year),
        "Take year out of [visits], or make both the same.");
  }

  void check_team(const std::string& team) {
    if (plan_.teams.count(team)) return;
    std::vector<std::string> teams;
    for (const auto& [name, sites] : plan_.teams) teams.push_back(name);
    const std::string nearest = nearest_word(team, teams);
    flags_.add(Severity::stop, "unknown team", plan_.visits.place,
               fmt::format("[visits] people names {}, which is no team of [teams].", team),
               !nearest.empty() ? fmt::format("Did you mean {}?", nearest)
               : teams.empty()  ? "Name the teams and their sites in [teams]."
                                : fmt::format("The teams are {}.", in_words(teams)));
  }

  void check_text(const std::string& text, const std::string& what, const Place& place) {
    const std::string found = private_words_in(text);
    if (found.empty()) return;
    flags_.add(Severity::ask, "private words", place,
               fmt::format("{} looks like {}: \"{}\".", what, found, text),
               "Phone numbers are in no file: sheets leave room to write them in by hand.");
  }

  void check_caution(const CautionSpec& caution) {
    check_text(caution.text, "the caution", caution.place);
    const auto characters = std::size_t(std::count_if(caution.text.begin(), caution.text.end(), [](char c) {
      return (static_cast<unsigned char>(c) & 0xC0) != 0x80;
    }));
    if (characters > caution_line)
      flags_.add(Severity::note, "long caution", caution.place,
                 fmt::format("a caution has {} characters: more than a line of the sheet.", characters),
                 fmt::format("Say it in {}, or in two cautions.", caution_line));
    for (const auto& [name, classes] : caution.classes) check_classes(caution, name, classes);
  }

  void check_classes(const CautionSpec& caution, const std::string& name,
                     const std::vector<std::string>& classes) {
    const LayerSpec* layer = plan_.layer(name);
    if (!layer || !layer->is_classes()) {
      std::vector<std::string> names;
      for (const LayerSpec& each : plan_.layers)
        if (each.is_classes()) names.push_back(each.name);
      flags_.add(Severity::stop, "classes of a caution", caution.place,
                 layer ? fmt::format("a caution names classes of {}, which is a measure.", name)
                       : fmt::format("a caution names classes of {}, which is no layer of the plan.", name),
                 names.empty() ? "Take classes out: the plan has no class layer."
                               : fmt::format("Layers with classes: {}.", in_words(names)));
      return;
    }
    std::vector<std::string> known;
    for (const auto& [value, code] : layer->classes)
      if (std::find(known.begin(), known.end(), code) == known.end()) known.push_back(code);
    for (const std::string& code : classes) {
      if (std::find(known.begin(), known.end(), code) != known.end()) continue;
      const std::string nearest = nearest_word(code, known);
      flags_.add(Severity::stop, "unknown class", caution.place,
                 fmt::format("a caution is for {} {}: the layer has no such class.", name, code),
                 nearest.empty() ? fmt::format("Its classes are {}.", in_words(known))
                                 : fmt::format("Did you mean {}?", nearest));
    }
  }

  const Plan& plan_;
  Flags& flags_;
};

}  // namespace

std::string private_words_in(std::string_view text) {
  if (mail_address_in(text)) return "an e-mail address";
  return telephone_number_in(text) ? "a phone number" : "";
}

void check_visits(const Plan& plan, Flags& flags) { VisitChecks(plan, flags).all(); }

}  // namespace swardline
