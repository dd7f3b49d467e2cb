#include "swardline/report/identification_card.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/report/card_layout.hpp"
#include "swardline/report/text_fit.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

// Nothing depends on a fill, and nothing on a colour: cards are photocopied.
constexpr const char* card_rules = R"(
.idcard{box-sizing:border-box;width:100mm;height:67mm;padding:2mm 2.5mm 1.6mm;position:relative;overflow:hidden;background:#fff;color:#000;font:7.5pt/2.9mm "Liberation Sans",Arial,Helvetica,sans-serif;break-inside:avoid}
.idcard *{box-sizing:border-box;margin:0;padding:0;overflow-wrap:anywhere}
.idcard header{display:flex;align-items:baseline;gap:1.6mm;height:5mm;border-bottom:.35mm solid #000;white-space:nowrap;max-width:none;padding:0}
.idcard h2{all:unset;font-weight:700;font-size:9.5pt;line-height:4.2mm;overflow:hidden;text-overflow:ellipsis;min-width:0;flex:1}
.idcard header span{font-weight:700}
.idcard header .part{border:.3mm solid #000;padding:0 .8mm;font-weight:400}
.idcard .body{display:grid;grid-template-columns:46mm 46mm;column-gap:3mm;height:52mm;padding-top:.7mm}
.idcard .ask{font-weight:700;padding:.9mm 0 .3mm 5mm;position:relative}
.idcard .ask .no{position:absolute;left:0;top:.5mm}
.idcard .ask i{font-weight:400}
.idcard .no{display:inline-block;width:3.8mm;height:3.8mm;border:.3mm solid #000;border-radius:50%;text-align:center;font-weight:700;line-height:3.2mm;flex:none}
.idcard .way{display:flex;flex-wrap:wrap;align-items:baseline;justify-content:flex-end;column-gap:1mm;margin-left:1.9mm;padding-left:3.1mm;padding-bottom:.35mm;border-left:.3mm solid #000;position:relative}
.idcard .way::before{content:"";position:absolute;left:0;top:1.5mm;width:2.4mm;border-top:.3mm solid #000}
.idcard .way.last{border-left-color:transparent}
.idcard .way.last::after{content:"";position:absolute;left:-.3mm;top:0;height:1.65mm;border-left:.3mm solid #000}
.idcard .say{flex:1 1 auto}
.idcard .to{flex:0 1 auto;display:flex;flex-wrap:wrap;justify-content:flex-end;align-items:baseline;gap:.4mm .8mm;max-width:100%}
.idcard .is{border:.3mm solid #000;padding:0 .7mm;font-weight:700;line-height:2.9mm}
.idcard .key .is{flex:none;max-width:23mm}
.idcard .is.other{border-style:dashed;font-weight:400}
.idcard .note{padding-top:.8mm}
.idcard .warn{border:.5mm solid #000;padding:.4mm .8mm;font-weight:700;margin-bottom:.6mm}
.idcard .key{display:flex;gap:1mm;align-items:baseline;padding-top:.5mm}
.idcard footer{position:absolute;left:2.5mm;right:2.5mm;bottom:1.4mm;border-top:.35mm solid #000;padding-top:.5mm;font-size:7.2pt;line-height:2.8mm}
)";

constexpr const char* sheet_rules = R"(
@page{margin:5mm}
html{background:#fff}
body{margin:0}
h1{position:absolute;width:1px;height:1px;margin:0;overflow:hidden;clip-path:inset(50%)}
.sheet{position:relative;display:grid;grid-template-columns:100mm 100mm;grid-auto-rows:67mm;width:200mm;height:268mm;margin:0 auto}
.sheet+.sheet{break-before:page}
.cut{position:absolute;left:0;top:0;width:200mm;height:268mm;overflow:visible;pointer-events:none}
@media screen{.sheet{margin:8mm auto}}
)";

constexpr double gap_mm = 1.2, way_gap_mm = .55;

std::string bdi(const std::string& text) { return "<bdi>" + xml_escape(text) + "</bdi>"; }

/// What a box says: a species' code, or a plant's common name where it has one.
std::string box_text(const CardPlant& plant) {
  if (!plant.code.empty()) return shortened(plant.code, 24);
  return shortened(plant.common.empty() ? plant.name : plant.common, 48);
}

std::string box(const CardPlant& plant) {
  return fmt::format("<span class=\"is{}\">{}</span>", plant.likely ? "" : " other", bdi(box_text(plant)));
}

class CardWriter {
 public:
  CardWriter(const Card& card, const Season& season) : card_(card), season_(season) {
    for (std::size_t i = 0; i < card.looks.size(); ++i)
      if (card.looks[i].character != Look::end) number_[i] = int(number_.size()) + 1;
  }

  std::vector<std::string> write() {
    warnings();
    looks();
    inseparable();
    unwritten();
    legend();
    for (const std::string& note : card_.notes) paragraph("note", "", note);
    const std::vector<CardColumns> columns = fill_cards(blocks_);
    std::vector<std::string> cards;
    for (std::size_t i = 0; i < columns.size(); ++i)
      cards.push_back(article(columns[i], i + 1, columns.size()));
    return cards;
  }

 private:
  [[nodiscard]] std::string days() const {
    if (card_.from == no_day) return "all in flower";
    if (card_.from == card_.until) return short_date(card_.from);
    return short_date(card_.from) + "–" + short_date(card_.until);
  }

  [[nodiscard]] std::string article(const CardColumns& columns, std::size_t number, std::size_t of) const {
    const std::string site = card_.site.empty() ? card_.site_name : card_.site + " " + card_.site_name;
    const std::string part = of > 1 ? fmt::format(" {} of {}", number, of) : "";
    const std::string visit = card_.visit > 0 ? fmt::format("visit {}, ", card_.visit) : "";
    const Type strong{7.5, true};
    const double beside = text_mm(visit + days(), strong) + (of > 1 ? text_mm("card" + part, strong) + 4 : 0);
    const std::string title = fitted(site, card_width_mm - 5 - beside - 4, {9.5, true});
    return fmt::format(
        "<article class=\"idcard\" aria-label=\"{0}\">\n<header><h2>{1}</h2><span>{2}{3}</span>{4}</header>\n"
        "<div class=\"body\"><div>{5}</div><div>{6}</div></div>\n"
        "<footer>No answer fits, or in doubt? Write “not certain” and photograph: {7}. "
        "<b>Never taste any plant.</b></footer>\n</article>\n",
        xml_escape("Identification card " + site + part), bdi(title), visit, xml_escape(days()),
        part.empty() ? "" : "<span class=\"part\">card" + part + "</span>", columns.left, columns.right,
        photo_rule);
  }

  /// A text in as many atoms as it takes, so that none is longer than a column; `head` is markup of a few
  /// letters before it.
  void paragraph(const char* css_class, const std::string& head, const std::string& text,
                 const std::string& head_text = {}) {
    constexpr std::size_t most = 380;  // letters: ten lines or so
    CardBlock block;
    std::string rest = text;
    for (bool first = true; first || !rest.empty(); first = false) {
      std::string piece = rest;
      if (shortened(rest, most) != rest) {
        piece = shortened(rest, most);
        piece.resize(piece.size() - std::string_view("…").size());
        if (const std::size_t blank = piece.rfind(' '); blank != std::string::npos && blank > 0)
          piece.resize(blank);
      }
      std::string before = first ? head_text : std::string();
      if (first) before += ' ';
      before += piece;
      const int lines = text_lines(before, card_column_mm - 2.6);
      block.push_back({fmt::format("<p class=\"{}\">{}{}</p>\n", css_class, first ? head : "", bdi(piece)),
                       lines * card_line_mm + gap_mm});
      rest.erase(0, piece.size());
      if (rest.starts_with(' ')) rest.erase(0, 1);
    }
    blocks_.push_back(std::move(block));
  }

  void warnings() {
    for (const CardPlant& plant : card_.plants) {
      if (plant.warning.empty()) continue;
      const std::string common = plant.common.empty() ? "" : ", " + shortened(plant.common, 60);
      paragraph("warn", "", shortened(plant.name, 60) + common + ": " + plant.warning);
    }
  }

  void looks() {
    if (card_.looks.empty()) {
      std::vector<std::string> likely;
      for (const CardPlant& plant : card_.plants)
        if (plant.likely) likely.push_back(box_text(plant));
      if (likely.size() == 1 && card_.inseparable.empty())
        paragraph("note", "",
                  "Only " + likely.front() + " is likely here, and nothing written is to be ruled out.");
      else
        paragraph("note", "", "Nothing that can be seen in these days tells the plants below apart.");
      return;
    }
    for (std::size_t i = 0; i < card_.looks.size(); ++i)
      if (card_.looks[i].character != Look::end) look(i);
  }

  void look(std::size_t at) {
    const Look& look = card_.looks[at];
    const Character& character = season_.traits.characters[look.character];
    const std::string ease = character.ease == Ease::at_a_glance ? "" : in_words(character.ease);
    const std::string asked = shortened(character.look, 240);
    CardBlock block;
    block.push_back(
        {fmt::format("<p class=\"ask\"><span class=\"no\">{}</span> {}{}</p>\n", number_.at(at), bdi(asked),
                     ease.empty() ? "" : " <i>(" + ease + ")</i>"),
         text_lines(asked + (ease.empty() ? "" : " (" + ease + ")"), (card_column_mm - 5) / 1.08) *
                 card_line_mm +
             gap_mm});
    for (std::size_t i = 0; i < look.branches.size(); ++i)
      block.push_back(way(character, look.branches[i], i + 1 == look.branches.size()));
    blocks_.push_back(std::move(block));
  }

  [[nodiscard]] CardAtom way(const Character& character, const Look::Branch& branch, bool last) const {
    std::string say;
    for (const std::size_t state : branch.states)
      say += (say.empty() ? "" : " or ") + character.states[state].words;
    say = shortened(say, 240);
    std::string to;
    double to_mm = 0, row_mm = 0;
    int to_lines = 1;
    constexpr double room = card_column_mm - 6;
    if (const auto next = number_.find(branch.next); next != number_.end()) {
      to = fmt::format("<span class=\"no\" aria-label=\"go to {0}\">{0}</span>", next->second);
      to_mm = row_mm = 5;
    } else {
      for (const std::size_t plant : card_.looks[branch.next].plants) {
        const double mm =
            std::min(text_width_mm(box_text(card_.plants[plant])) * 1.08 + (to.empty() ? 3 : 7), room);
        if (row_mm > 0 && row_mm + mm > room) ++to_lines, row_mm = 0;
        to += (to.empty() ? "" : "or ") + box(card_.plants[plant]);
        row_mm += mm;
        to_mm += mm;
        to_lines += text_lines(box_text(card_.plants[plant]), room - 3) - 1;
      }
    }
    const double say_mm = text_width_mm(say);
    const bool one_row = say_mm + to_mm + 1.5 <= room;
    const int lines = one_row ? 1 : text_lines(say, room) + to_lines;
    return {
        fmt::format("<div class=\"way{}\"><span class=\"say\">{}</span><span class=\"to\">{}</span></div>\n",
                    last ? " last" : "", bdi(say), to),
        lines * (card_line_mm + .15) + way_gap_mm + (to_lines - 1) * .8};
  }

  void inseparable() {
    // Pairs for which the same holds are one sentence.
    std::vector<std::pair<std::string, std::string>> order;
    std::map<std::pair<std::string, std::string>, std::vector<std::string>> pairs;
    for (const Inseparable& each : card_.inseparable) {
      const std::pair key{each.why, each.photograph};
      if (!pairs.contains(key)) order.push_back(key);
      pairs[key].push_back(box_text(card_.plants[each.first]) + " and " +
                           box_text(card_.plants[each.second]));
    }
    for (const auto& key : order) {
      std::string instead = key.second;
      if (const std::size_t rule = instead.find(photo_rule); rule != std::string::npos)
        instead.replace(rule, std::string_view(photo_rule).size(), "all that is named below");
      std::string said;
      for (const std::string& pair : pairs.at(key)) said += (said.empty() ? "" : "; ") + pair;
      paragraph("note", "<b>Cannot be told apart now:</b> ",
                fmt::format("{}: {}. Photograph instead: {}.", said, key.first, instead),
                "Cannot be told apart now: ");
    }
  }

  void unwritten() {
    for (const CardPlant& plant : card_.plants) {
      if (!plant.no_traits) continue;
      const std::string tell =
          plant.tell.empty() ? "it cannot be told from anything here" : "the sheet says only: " + plant.tell;
      paragraph("note", "<b>No characters written:</b> ", fmt::format("{}: {}.", box_text(plant), tell),
                "No characters written: ");
    }
  }

  void legend() {
    if (std::any_of(card_.plants.begin(), card_.plants.end(),
                    [](const CardPlant& each) { return !each.likely; }))
      paragraph("note", "",
                "Dashed: to rule out, not expected here. Found one with a code? Write it down too.");
    for (const CardPlant& plant : card_.plants) {
      // In the field the name people are taught; in training both.
      std::string words = plant.name;
      if (!plant.code.empty() && !plant.common.empty())
        words = card_.visit > 0 ? plant.common : plant.name + ", " + plant.common;
      words = shortened(words, 320);
      const double boxed = std::min(text_width_mm(box_text(plant)) * 1.08 + 3, card_column_mm / 2);
      const int lines = std::max(text_lines(words, card_column_mm - boxed - 1),
                                 text_lines(box_text(plant), card_column_mm / 2 - 3));
      blocks_.push_back({{fmt::format("<p class=\"key\">{}<span>{}</span></p>\n", box(plant), bdi(words)),
                          lines * card_line_mm + way_gap_mm}});
    }
  }

  const Card& card_;
  const Season& season_;
  std::map<std::size_t, int> number_;  ///< of looks, as printed
  std::vector<CardBlock> blocks_;
};

/// A small cross at every corner of every card.
std::string cut_marks() {
  std::string path;
  for (int x = 0; x <= 200; x += 100)
    for (int y = 0; y <= 268; y += 67) path += fmt::format("M{} {}h4M{} {}v4", x - 2, y, x, y - 2);
  return fmt::format(
      "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"cut\" viewBox=\"0 0 200 268\" aria-hidden=\"true\">"
      "<path d=\"{}\" fill=\"none\" stroke=\"#000\" stroke-width=\".2\"/></svg>\n",
      path);
}

}  // namespace

std::string card_markup(const Card& card, const Season& season) {
  std::string markup;
  for (const std::string& each : CardWriter(card, season).write()) markup += each;
  return markup;
}

std::string card_style() { return card_rules; }

std::string cards_page(const Season& season, const std::vector<Card>& cards, const std::string& title) {
  std::vector<std::string> pocket;
  for (const Card& card : cards)
    for (std::string& each : CardWriter(card, season).write()) pocket.push_back(std::move(each));
  std::string page = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n"
      "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
      "<title>{0}</title>\n<link rel=\"icon\" href=\"data:,\"/>\n<style>{1}{2}</style>\n</head>\n<body>\n"
      "<main>\n<h1>{0}</h1>\n",
      xml_escape(title), card_rules, sheet_rules);
  if (pocket.empty()) page += "<p>No site has a likely species: there is no card.</p>\n";
  for (std::size_t i = 0; i < pocket.size(); i += 8) {
    page += "<div class=\"sheet\">\n" + cut_marks();
    for (std::size_t k = i; k < std::min(i + 8, pocket.size()); ++k) page += pocket[k];
    page += "</div>\n";
  }
  return page + "</main>\n</body>\n</html>\n";
}

}  // namespace swardline
