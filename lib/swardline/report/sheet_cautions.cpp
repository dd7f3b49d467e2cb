// What can hurt, beside the map and below it: nothing is left out without a word.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/report/sheet_layout.hpp"
#include "swardline/report/sheet_page.hpp"

namespace swardline::sheet {
namespace {

/// Lines below the map; what is still left then is said to the coordinator.
constexpr std::size_t most_below = 8;
constexpr double side_text = side_width - 2.4;

/// A heading that runs on into its text: the heading in front of the first line.
struct SideText {
  std::string head, words;
};

std::string one_spaced(const std::string& words) {
  std::string out;
  for (const char c : words)
    if (c != ' ' && c != '\n' && c != '\t' && c != '\r')
      out += c;
    else if (!out.empty() && out.back() != ' ')
      out += ' ';
  return out;
}

/// Lines of a text whose first line has a heading in front of it.
std::vector<std::string> lines_of(const SideText& item, double width) {
  const double head_mm = item.head.empty() ? 0 : text_mm(item.head + "  ", strong);
  std::vector<std::string> lines = wrapped(item.words, width - head_mm, text);
  if (lines.size() < 2) return lines;
  const std::string rest = item.words.substr(std::min(item.words.size(), lines.front().size()));
  const std::vector<std::string> under = wrapped(rest, width, text);
  lines.resize(1);
  lines.insert(lines.end(), under.begin(), under.end());
  return lines;
}

/// Lines of the column beside the map; as many as it has room for.
class Side {
 public:
  [[nodiscard]] std::size_t left() const { return most_lines - lines_; }
  /// Whether it fitted, leaving `keep` lines.
  bool add(const SideText& item, std::size_t keep) {
    if (item.words.empty()) return true;
    const std::vector<std::string> lines = lines_of(item, side_text);
    if (lines.size() + keep > left()) return false;
    lines_ += lines.size();
    out_ += "<p>";
    for (std::size_t i = 0; i < lines.size(); ++i) {
      if (i > 0) out_ += "<br/>";
      if (i == 0 && !item.head.empty()) out_ += "<b>" + xml_escape(item.head) + "</b> ";
      out_ += apart(lines[i]);
    }
    out_ += "</p>\n";
    return true;
  }
  [[nodiscard]] const std::string& markup() const { return out_; }

 private:
  static constexpr std::size_t most_lines = std::size_t((map_height - 2.9) / line);
  std::size_t lines_ = 0;
  std::string out_;
};

/// What stands under the cautions on every sheet, whatever there is room for.
constexpr const char* never = "Never taste any plant.";
constexpr const char* deferring_begins = "Landowners, local rules";
constexpr const char* always =
    "Never taste any plant. Landowners, local rules and licensed practice go before this sheet: when in "
    "doubt, turn back and write why.";

/// Said under ALWAYS already.
bool said_always(const Caution& caution) {
  return caution.text == never || caution.text.starts_with(deferring_begins);
}

std::string joined(const std::string& before, const std::string& more) {
  return before.empty() ? more : before + " ! " + more;
}

/// Where each caution stands.
struct Placed {
  Side side;
  std::string below;  ///< run on
  std::vector<std::string> left_out;
};

/// What ends a visit and dates in lines of their own, then cautions: those of this site first, with
/// `own_lines` in a line each, the others run on. As many as leave `keep` lines stand beside the map, the
/// rest below it.
Placed placed_with(const SheetVisit& visit, std::size_t keep, bool own_lines) {
  Placed placed;
  bool full = false, stopped = false, warned = false;
  const auto below = [&](const std::string& words) {
    full = true;
    const std::string more = joined(placed.below, words);
    // The last line is kept for how many are left out.
    if (lines_of({"CAUTION", more}, page_width - 1).size() < most_below)
      placed.below = more;
    else
      placed.left_out.push_back(words);
  };
  const auto has_line = [&](const Caution& one) {
    return one.stop || one.closure || (own_lines && one.here);
  };
  for (const Caution& caution : visit.cautions) {
    if (said_always(caution) || !has_line(caution)) continue;
    bool& begun = caution.stop ? stopped : warned;
    std::string head = caution.stop ? (begun ? "OR IF" : "STOP IF") : begun ? "!" : "CAUTION";
    if (caution.closure) head = "DATES";
    const std::string words = one_spaced(caution.text);
    if (full || !placed.side.add({head, words}, keep)) {
      below(caution.stop ? fmt::format("{} {}", head, words) : words);
    } else if (!caution.closure) {
      begun = true;
    }
  }
  std::string run;
  const std::string head = warned ? "!" : "CAUTION";
  for (const bool here : {true, false})
    for (const Caution& caution : visit.cautions) {
      if (said_always(caution) || has_line(caution) || caution.here != here) continue;
      const std::string words = one_spaced(caution.text);
      Side tried = placed.side;
      if (full || !tried.add({head, joined(run, words)}, keep))
        below(words);
      else
        run = joined(run, words);
    }
  (void)placed.side.add({head, run}, keep);
  return placed;
}

/// What follows the cautions beside the map.
std::vector<SideText> under_cautions(const SheetVisit& visit) {
  const std::string access = one_spaced(
      (visit.permission.empty() ? "not written: ask before you go" : fitted(visit.permission, 130, text)) +
      ".");
  // A placeholder has room to be written over.
  const std::string blank = visit.contact.ends_with(']') ? " " + std::string(22, '_') : std::string();
  const std::string contact = one_spaced("Contact: " + fitted(visit.contact, 60, text) + blank);
  // Whom to call is not broken over two lines.
  const bool one_line = text_mm("ACCESS  ", strong) + text_mm(access + " " + contact, text) <= side_text;
  return {{"ALWAYS", always},
          {"ACCESS", one_line ? access + " " + contact : access},
          {"", one_line ? std::string() : contact},
          {"COMPASS",
           visit.declination.empty()
               ? std::string("No declination in the plan: bearings are true (T). Set your compass to the "
                             "local declination and walk column T.")
               : one_spaced("Set its declination to 0, walk column M: it is corrected already. Declination " +
                            fitted(visit.declination, 120, text) + ". Lay plots along lay M.")},
          {"UNIT", "WGS84, degrees or USNG. If your unit shows anything else, stop."}};
}

/// One under the other is read best; where that would send cautions below the map they run on.
Placed placed_cautions(const SheetVisit& visit) {
  std::size_t keep = 0;
  for (const SideText& item : under_cautions(visit))
    if (!item.words.empty()) keep += lines_of(item, side_text).size();
  Placed placed = placed_with(visit, keep, true);
  if (!placed.below.empty() || !placed.left_out.empty()) placed = placed_with(visit, keep, false);
  return placed;
}

}  // namespace

std::string side_markup(const SiteSheet& sheet) {
  Placed placed = placed_cautions(*sheet.visit);
  for (const SideText& item : under_cautions(*sheet.visit)) (void)placed.side.add(item, 0);
  return "<div class=\"side\">\n" + placed.side.markup() + "</div>\n";
}

std::vector<std::string> lines_below_map(const SheetVisit& visit) {
  const Placed placed = placed_cautions(visit);
  std::string words = placed.below;
  if (!placed.left_out.empty())
    words =
        joined(words, fmt::format("{} found no room here: ask the coordinator.",
                                  counted_words(placed.left_out.size(), "more caution", "more cautions")));
  return words.empty() ? std::vector<std::string>() : lines_of({"CAUTION", words}, page_width - 1);
}

std::string below_markup(const SheetVisit& visit) {
  const std::vector<std::string> lines = lines_below_map(visit);
  return lines.empty() ? std::string()
                       : "<p class=\"rules\"><b>CAUTION</b> " + lines_markup(lines) + "</p>\n";
}

}  // namespace swardline::sheet

namespace swardline {

std::vector<std::string> cautions_left_out(const SheetVisit& visit) {
  return sheet::placed_cautions(visit).left_out;
}

}  // namespace swardline
