// The head, side and foot of a sheet.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/report/sheet_layout.hpp"
#include "swardline/report/square_code.hpp"

namespace swardline::sheet {
namespace {

constexpr Type site_type{14, true}, code_type{17, true}, when_type{10, true};

}  // namespace

std::string apart(const std::string& words) {
  // Letters that are read from the left anyway need no isolation, and packets have a hundred thousand texts.
  const bool plain =
      std::all_of(words.begin(), words.end(), [](char c) { return static_cast<unsigned char>(c) < 0x80; });
  return plain ? xml_escape(words) : "<bdi>" + xml_escape(words) + "</bdi>";
}

std::string lines_markup(const std::vector<std::string>& lines) {
  std::string out;
  for (const std::string& words : lines) out += (out.empty() ? "" : "<br/>") + apart(words);
  return out;
}

std::string head_markup(const SiteSheet& sheet, std::size_t page, std::size_t pages) {
  const SheetVisit& visit = *sheet.visit;
  const SiteWalk& walk = *sheet.walk;
  const std::string code = fitted(walk.code, 34, code_type);
  const double code_mm = text_mm(code, code_type) + 4;
  const std::string when =
      fitted(fmt::format("visit {} of {}: {}", visit.number, visit.of, visit.dates), 80, when_type);
  const double when_mm = text_mm(when, when_type) + 2;
  const std::string name = fitted(walk.name, page_width - code_mm - when_mm - 6, site_type);
  std::string second = fmt::format("drawn {}; page {} of {}", visit.version, page, pages);
  if (sheet.loops > 1) second += fmt::format("; loop {} of {}", sheet.loop_name(), sheet.loops);
  const std::string team = (visit.team.empty() ? std::string("team ____________") : "team " + visit.team) +
                           (visit.week.empty() ? std::string() : ", " + visit.week);
  // Who goes and when is cut last.
  constexpr double people_mm = 44, blank_mm = 4, least_open_mm = 24;
  const double left_mm = page_width - text_mm(second, text) - people_mm - blank_mm;
  const std::string open =
      fitted(visit.open_days, std::clamp(left_mm - text_mm(team, text), least_open_mm, page_width / 2), text);
  return fmt::format(
      "<header><h2><span class=\"code\">{}</span> <span class=\"site\">{}</span></h2>"
      "<p class=\"when\">{}</p><p class=\"second\"><span>{}</span><span>{}</span><span>{}</span>"
      "<span><i class=\"tick\"></i> <i class=\"tick\"></i> {} people, nobody alone</span></p></header>\n",
      apart(code), apart(name), apart(when), apart(second),
      apart(fitted(team, left_mm - text_mm(open, text), text)), apart(open),
      visit.people < 2 ? 2 : visit.people);
}

namespace {

/// "10° 10.2, 20° 10.6": metres along the ground for 10 m level.
std::string slope_table() {
  std::string words;
  for (const int degrees : {10, 15, 20, 25, 30, 35, 40})
    words +=
        fmt::format("{}{}\u00B0 {:.1f}", words.empty() ? "" : ", ", degrees, along_ground_m(10, degrees));
  return words;
}

/// A head, and how to go on.
struct Rule {
  std::string head, words;
};

/// What stands between the map and the tables.
std::vector<Rule> rules_of(const SheetVisit& visit) {
  std::vector<Rule> rules = {
      {"PLACE",
       fmt::format(
           "Walk until the unit first reads under 3 m, stop, push the marker pin in at your heel. Do not "
           "shuffle. Write fix and accuracy before you look for flowers. {} Hold the tape level; where it is "
           "too steep for that, {}. * in m: walk the WAY under the row; the map's dotted line shows it.",
           visit.laying, visit.steep ? "see SLOPE" : "do not work")},
      {"COUNT",
       "Stems in bud, flower or green capsule rooted inside. On the line: left and near in, right and far "
       "out. Over 100: count half, say so. NONE? WRITE 0: a blank is no zero. Behind a count b bud, f "
       "flower, c "
       "capsule, p past. Count-twice zone (EDGE: tape marks): its stems again in row two."}};
  if (!visit.along.empty()) rules.push_back({"LINE", visit.along});
  if (visit.steep)
    rules.push_back(
        {"SLOPE",
         fmt::format(
             "The second number in tape is the metres to lay along the ground on the map's slope: level "
             "metres / cos(slope along the tape). By your clinometer, for 10 m level: {} m. No footing "
             "without your hands: do not work, write unsafe.",
             slope_table())});
  return rules;
}

}  // namespace

std::vector<std::string> rule_lines(const SheetVisit& visit) {
  std::vector<std::string> lines;
  for (const Rule& rule : rules_of(visit))
    for (std::string& words_line : wrapped(rule.head + "  " + rule.words, page_width - 1, text))
      lines.push_back(std::move(words_line));
  return lines;
}

std::string rules_markup(const SheetVisit& visit) {
  const std::vector<Rule> rules = rules_of(visit);
  std::string out = "<p class=\"rules\">";
  std::size_t next = 0;
  for (const std::string& words : rule_lines(visit)) {
    if (next > 0) out += "<br/>";
    const bool begins = next < rules.size() && words.starts_with(rules[next].head);
    const std::size_t head = begins ? rules[next].head.size() : 0;
    if (begins) ++next;
    out += (begins ? "<b>" + xml_escape(words.substr(0, head)) + "</b>" : std::string()) +
           xml_escape(words.substr(head));
  }
  return out + "</p>\n";
}

std::string foot_markup(const SiteSheet& sheet) {
  const std::string id = sheet.id();
  const std::string code = square_code(id);
  return fmt::format(
      "<p class=\"status\"><b>STATUS</b> counted, part counted, not countable (mown, grazed, burned, "
      "sprayed), not found, not reached, no permission, unsafe, under water</p>\n"
      "<div class=\"foot{}\"><p><span>date <u></u></span><span>start <u></u></span><span>finish "
      "<u></u></span>"
      "<span>all plots done? <i class=\"tick\"></i> yes <i class=\"tick\"></i> no</span>"
      "<span>spares used in order? <u></u></span></p>"
      "<p><span class=\"wide\">what we could not do <u></u></span><span>observers <u "
      "class=\"long\"></u></span>"
      "<span>signed <u></u></span><span>sheet&#160;<b>{}</b></span></p>{}</div>\n",
      code.empty() ? "" : " coded", apart(fitted(id, 30, strong)), code);
}

}  // namespace swardline::sheet
