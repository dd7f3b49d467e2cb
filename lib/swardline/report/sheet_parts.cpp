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
  return words.empty() ? words : "<bdi>" + xml_escape(words) + "</bdi>";
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

std::vector<std::string> rule_lines(const SheetVisit& visit) {
  std::vector<std::string> lines;
  const std::string place = fmt::format(
      "PLACE  Walk until the unit first reads under 3 m, stop, push the marker pin in at your heel. Do not "
      "shuffle. Write fix and accuracy before you look for flowers. {} Hold the tape level; where it is "
      "too steep for that, do not work. * in m: a way round a fence or water, its bearing the straight line.",
      visit.laying);
  for (const std::string& words :
       {place, std::string("COUNT  Stems in bud, flower or green capsule rooted inside. On the line: left "
                           "and near in, right and far out. Over 100: count half, say so. NONE? WRITE 0: a "
                           "blank is no zero. Behind a count b bud, f flower, c capsule, p past. Count-twice "
                           "zone (EDGE: tape marks): its stems again in row two.")})
    for (std::string& words_line : wrapped(words, page_width - 1, text))
      lines.push_back(std::move(words_line));
  return lines;
}

std::string rules_markup(const SheetVisit& visit) {
  std::string out = "<p class=\"rules\">";
  bool first = true;
  for (const std::string& words : rule_lines(visit)) {
    if (!first) out += "<br/>";
    first = false;
    const std::size_t head = words.find("  ");
    const bool begins = words.starts_with("PLACE") || words.starts_with("COUNT");
    out += begins && head == std::string::npos
               ? "<b>" + xml_escape(words.substr(0, 5)) + "</b>" + xml_escape(words.substr(5))
               : xml_escape(words);
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
