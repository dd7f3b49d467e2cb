#include "swardline/report/identification_card.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/report/card_layout.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

constexpr Type title_type{10.5, true}, head_type{8, true}, foot_type{7.5, true};
constexpr double title_mm = 4.4, head_mm = 3.8, foot_mm = 2.9;
constexpr double edges_mm = 2 + .35 + .7 + .85 + 1.4 + 1;  ///< padding and rules, and a little air

std::string bdi(const std::string& text) { return "<bdi>" + xml_escape(text) + "</bdi>"; }

/// A likely species of which nothing is written.
bool unsure(const CardPlant& plant) { return plant.likely && plant.no_traits; }

/// A species' code, or a plant's common name where it has one.
std::string short_text(const CardPlant& plant) {
  if (!plant.code.empty()) return shortened(plant.code, 24);
  return shortened(plant.common.empty() ? plant.name : plant.common, 48);
}

/// What a box says.
std::string box_text(const CardPlant& plant) { return short_text(plant) + (unsure(plant) ? "?" : ""); }

std::string box(const CardPlant& plant) {
  return fmt::format("<span class=\"is{}\">{}</span>",
                     !plant.likely   ? " other"
                     : unsure(plant) ? " unsure"
                                     : "",
                     bdi(box_text(plant)));
}

const char* ease_words(Ease ease) {
  return ease == Ease::lens ? "use a lens" : ease == Ease::close_look ? "look closely" : "";
}

/// What stands at the head and the foot of every pocket card of one card.
struct CardFrame {
  std::vector<std::string> title;  ///< lines
  std::vector<std::string> lines;  ///< at the foot, above what stands on all cards
  std::string when;                ///< "visit 1, 20–31 May"
  bool one_row = true;             ///< title and days

  [[nodiscard]] double column_mm() const {
    const double head = one_row ? std::max(title_mm, head_mm) : title_mm * double(title.size()) + head_mm;
    return card_height_mm - edges_mm - head - foot_mm * double(lines.size() + 2);
  }
};

std::string days_words(const Card& card) {
  return card.from == no_day ? "all in flower" : short_range(card.from, card.until);
}

CardFrame frame_of(const Card& card) {
  CardFrame frame;
  frame.when = (card.visit > 0 ? fmt::format("visit {}, ", card.visit) : "") + days_words(card);
  const std::string site = card.site.empty() ? card.site_name : card.site + " " + card.site_name;
  const double beside = text_mm(frame.when + "card 9 of 9", head_type) + 2 * 1.6 + 2.2;
  frame.one_row = text_mm(site, title_type) + beside <= card_text_mm / 1.01;
  frame.title = wrapped(site, card_text_mm / 1.02, title_type, 2);
  std::vector<std::string> unwritten;
  for (const CardPlant& plant : card.plants)
    if (unsure(plant)) unwritten.push_back(box_text(plant));
  if (!unwritten.empty())
    frame.lines = wrapped(
        in_words(unwritten) + (unwritten.size() == 1
                                   ? ": nothing is recorded to tell it by, so it may be this plant too."
                                   : ": nothing is recorded to tell them by."),
        card_text_mm / 1.03, foot_type, 2);
  return frame;
}

/// The body of a card in type of one size.
class CardWriter {
 public:
  CardWriter(const Card& card, const Season& season, double points)
      : card_(card), season_(season), plain_{points, false}, strong_{points, true} {
    for (std::size_t i = 0; i < card.looks.size(); ++i)
      if (card.looks[i].character != Look::end) number_[i] = int(number_.size()) + 1;
  }

  std::vector<CardBlock> blocks() {
    warnings();
    looks();
    inseparable();
    unwritten();
    legend();
    for (const std::string& note : card_.notes) paragraph("note", {}, note);
    return std::move(blocks_);
  }

 private:
  [[nodiscard]] double line_mm() const { return card_line_mm(plain_.points); }
  [[nodiscard]] double em(double times) const { return times * plain_.points * mm_per_point; }
  [[nodiscard]] double box_mm(const CardPlant& plant) const {
    return text_width_mm(box_text(plant), strong_) + em(.52) + 1.2;
  }

  /// A text in as many atoms as it takes, so that none is longer than a column; `head` goes before it, bold.
  void paragraph(const char* css_class, const std::string& head, const std::string& text) {
    constexpr std::size_t most = 380;  // letters: twelve lines or so of the smallest type
    const bool bold = std::string_view(css_class) == "warn";
    CardBlock block;
    block.anywhere = !bold && !card_.looks.empty();
    std::string rest = text;
    for (bool first = true; first || !rest.empty(); first = false) {
      std::string piece = rest;
      if (shortened(rest, most) != rest) {
        piece = shortened(rest, most);
        piece.resize(piece.size() - std::string_view("…").size());
        if (const std::size_t blank = piece.rfind(' '); blank != std::string::npos && blank > 0)
          piece.resize(blank);
      }
      const std::string before = first && !head.empty() ? head + " " : std::string();
      const int lines =
          text_lines(before + piece, card_column_mm - em(.6) - 1, bold || !before.empty() ? strong_ : plain_);
      block.atoms.push_back({fmt::format("<p class=\"{}\">{}{}</p>\n", css_class,
                                         before.empty() ? "" : "<b>" + before + "</b>", bdi(piece)),
                             lines * line_mm() + em(bold ? .53 : .3) + (bold ? 1 : 0)});
      rest.erase(0, piece.size());
      if (rest.starts_with(' ')) rest.erase(0, 1);
    }
    blocks_.push_back(std::move(block));
  }

  void warnings() {
    for (const CardPlant& plant : card_.plants) {
      if (plant.warning.empty()) continue;
      const std::string common = plant.common.empty() ? "" : ", " + shortened(plant.common, 60);
      paragraph("warn", {}, shortened(plant.name, 60) + common + ": " + plant.warning);
    }
  }

  void looks() {
    if (card_.looks.empty()) {
      std::vector<std::string> likely;
      for (const CardPlant& plant : card_.plants)
        if (plant.likely) likely.push_back(box_text(plant));
      if (likely.size() == 1 && card_.inseparable.empty())
        paragraph("note", {},
                  "Only " + likely.front() + " is likely here, and nothing recorded is to be ruled out.");
      else
        paragraph("note", {}, "Nothing that can be seen in these days tells the plants below apart.");
      return;
    }
    for (std::size_t i = 0; i < card_.looks.size(); ++i)
      if (card_.looks[i].character != Look::end) look(i);
  }

  void look(std::size_t at) {
    const Look& look = card_.looks[at];
    const LookWords words = look_words(season_.traits, look);
    const std::string ease = ease_words(words.ease);
    const std::string asked = "Look at " + shortened(words.asked, 240);
    CardBlock block;
    block.atoms.push_back(
        {fmt::format("<p class=\"ask\"><span class=\"no\">{}</span> {}{}</p>\n", number_.at(at), bdi(asked),
                     ease.empty() ? "" : " <i>(" + ease + ")</i>"),
         text_lines(asked + (ease.empty() ? "" : " (" + ease + ")"), card_column_mm - em(1.95), strong_) *
                 line_mm() +
             em(.47)});
    for (std::size_t i = 0; i < look.branches.size(); ++i)
      block.atoms.push_back(way(words.answers[i], look.branches[i], i + 1 == look.branches.size()));
    blocks_.push_back(std::move(block));
  }

  [[nodiscard]] CardAtom way(const std::string& answer, const Look::Branch& branch, bool last) const {
    const std::string say = shortened(answer, 200);
    std::string to;
    double to_mm = 0, row_mm = 0;
    int to_lines = 1;
    const double room = card_column_mm - em(2) - .5, gap = em(.3);
    if (const auto next = number_.find(branch.next); next != number_.end()) {
      to = fmt::format("<span class=\"no\" aria-label=\"go to {0}\">{0}</span>", next->second);
      to_mm = em(1.5);
    } else {
      const double either = text_width_mm("or", plain_) + 2 * gap;
      for (const std::size_t plant : card_.looks[branch.next].plants) {
        const double mm = std::min(box_mm(card_.plants[plant]) + (to.empty() ? 0 : either), room);
        if (row_mm > 0 && row_mm + mm > room) ++to_lines, row_mm = 0;
        to += (to.empty() ? "" : "<span>or</span>") + box(card_.plants[plant]);
        row_mm += mm;
        to_mm += mm;
        to_lines += text_lines(box_text(card_.plants[plant]), room - em(.6), strong_) - 1;
      }
    }
    const bool one_row = text_width_mm(say, plain_) + to_mm + em(.5) <= room;
    const int lines = one_row ? 1 : text_lines(say, room, plain_) + to_lines;
    return {
        fmt::format("<div class=\"way{}\"><span class=\"say\">{}</span><span class=\"to\">{}</span></div>\n",
                    last ? " last" : "", bdi(say), to),
        lines * line_mm() + to_lines * .6 + (one_row ? 0 : em(.12)) +
            em(.13 + .15 * (to_lines - 1) + (to_mm == em(1.5) ? .36 : 0))};
  }

  void inseparable() {
    // Pairs for which the same holds are one sentence.
    struct Same {
      const Inseparable* first;
      std::string pairs;
    };
    std::vector<Same> all;
    for (const Inseparable& each : card_.inseparable) {
      const std::string pair =
          box_text(card_.plants[each.first]) + " and " + box_text(card_.plants[each.second]);
      const auto same = std::find_if(all.begin(), all.end(), [&](const Same& other) {
        return other.first->why == each.why && other.first->with_flower == each.with_flower &&
               other.first->photograph == each.photograph;
      });
      if (same == all.end())
        all.push_back({&each, pair});
      else
        same->pairs += "; " + pair;
    }
    for (const Same& each : all) {
      std::string instead = each.first->photograph;
      if (const std::size_t rule = instead.find(photo_rule); rule != std::string::npos)
        instead.replace(rule, std::string_view(photo_rule).size(),
                        "the views listed at the foot of this card");
      const std::string& flower = each.first->with_flower;
      paragraph(
          "note", "Cannot be told apart now:",
          fmt::format("{}: {}. {} “not certain” and photograph {}.", each.pairs, each.first->why,
                      flower.empty() ? "Write" : "If a flower is open " + flower + "; if none is, write",
                      instead));
    }
  }

  void unwritten() {
    for (const CardPlant& plant : card_.plants) {
      if (!plant.no_traits || (plant.likely && plant.tell.empty())) continue;
      paragraph("note", "Nothing recorded to tell it by:",
                plant.tell.empty()
                    ? fmt::format("{}, which may be here too.", box_text(plant))
                    : fmt::format("{}; the species' sheet says only: {}.", box_text(plant), plant.tell));
    }
  }

  void legend() {
    if (std::any_of(card_.plants.begin(), card_.plants.end(),
                    [](const CardPlant& each) { return !each.likely; }))
      paragraph("note", {},
                "Dashed box: a plant not expected here. If you find one that has a code, write it down too.");
    for (const CardPlant& plant : card_.plants) {
      // In the field the name people are taught; in training both.
      std::string words = plant.name;
      if (!plant.code.empty() && !plant.common.empty())
        words = card_.visit > 0 ? plant.common : plant.name + ", " + plant.common;
      words = shortened(words, 200) + (plant.flowering.empty() ? "" : ", " + plant.flowering);
      const double boxed = std::min(box_mm(plant), card_column_mm / 2);
      const int lines = std::max(text_lines(words, card_column_mm - boxed - em(.4), plain_),
                                 text_lines(box_text(plant), card_column_mm / 2 - em(.52) - .6, strong_));
      const double mm = lines * line_mm() + .6 + em(.19);
      blocks_.push_back(
          {{{fmt::format("<p class=\"key\">{}<span>{}</span></p>\n", box(plant), bdi(words)), mm}},
           !card_.looks.empty()});
    }
  }

  const Card& card_;
  const Season& season_;
  Type plain_, strong_;
  std::map<std::size_t, int> number_;  ///< of looks, as printed
  std::vector<CardBlock> blocks_;
};

std::string article(const Card& card, const CardFrame& frame, double points, const CardColumns& columns,
                    std::size_t number, std::size_t of) {
  const std::string part = of > 1 ? fmt::format(" {} of {}", number, of) : "";
  std::string title, lines;
  for (const std::string& line : frame.title) title += "<span>" + bdi(line) + "</span>";
  for (const std::string& line : frame.lines) lines += "<span><b>" + bdi(line) + "</b></span>";
  const std::string name = card.site.empty() ? card.site_name : card.site + " " + card.site_name;
  return fmt::format(
      "<article class=\"idcard\" aria-label=\"{}\">\n<header><h2{}>{}</h2><span class=\"when\">{}</span>{}"
      "</header>\n<div class=\"body\" style=\"font-size:{}pt\"><div>{}</div><div>{}</div></div>\n"
      "<footer>{}No answer fits, or in doubt? Write “not certain” and photograph: {}. "
      "<b>Never taste any plant.</b></footer>\n</article>\n",
      xml_escape("Identification card " + name + part), frame.one_row ? "" : " class=\"long\"", title,
      xml_escape(frame.when), part.empty() ? "" : "<span class=\"part\">card" + part + "</span>",
      shortest(points), columns.left, columns.right, lines, photo_rule);
}

/// The pocket cards of one card: as few as the smallest type needs, and in the largest type that needs no
/// more.
std::vector<std::string> pocket_cards(const Card& card, const Season& season) {
  const CardFrame frame = frame_of(card);
  const double column = frame.column_mm();
  double points = smallest_card_points;
  std::vector<CardColumns> columns = fill_cards(CardWriter(card, season, points).blocks(), column, true);
  // Names stand together where that takes no more cards.
  std::vector<CardColumns> in_order = fill_cards(CardWriter(card, season, points).blocks(), column, false);
  const bool fill_up = in_order.size() > columns.size();
  if (!fill_up) columns = std::move(in_order);
  for (double more = points + card_points_step; more <= largest_card_points; more += card_points_step) {
    const std::vector<CardBlock> blocks = CardWriter(card, season, more).blocks();
    const bool too_tall = std::any_of(blocks.begin(), blocks.end(), [&](const CardBlock& block) {
      return std::any_of(block.atoms.begin(), block.atoms.end(),
                         [&](const CardAtom& atom) { return atom.mm > column; });
    });
    std::vector<CardColumns> larger = fill_cards(blocks, column, fill_up);
    if (too_tall || larger.size() > columns.size()) continue;
    columns = std::move(larger);
    points = more;
  }
  std::vector<std::string> cards;
  for (std::size_t i = 0; i < columns.size(); ++i)
    cards.push_back(article(card, frame, points, columns[i], i + 1, columns.size()));
  return cards;
}

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
  for (const std::string& each : pocket_cards(card, season)) markup += each;
  return markup;
}

std::string cards_page(const Season& season, const std::vector<Card>& cards, const std::string& title) {
  std::vector<std::string> pocket;
  for (const Card& card : cards)
    for (std::string& each : pocket_cards(card, season)) pocket.push_back(std::move(each));
  std::string page = fmt::format(
      "<!DOCTYPE html>\n<html lang=\"en\" xmlns=\"http://www.w3.org/1999/xhtml\">\n<head>\n"
      "<meta charset=\"utf-8\"/>\n<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
      "<title>{0}</title>\n<link rel=\"icon\" href=\"data:,\"/>\n<style>{1}{2}</style>\n</head>\n<body>\n"
      "<main>\n<h1>{0}</h1>\n",
      xml_escape(title), card_style(), cards_page_style());
  if (pocket.empty()) page += "<p>No site has a likely species: there is no card.</p>\n";
  for (std::size_t i = 0; i < pocket.size(); i += 8) {
    page += "<div class=\"sheet\">\n" + cut_marks();
    for (std::size_t k = i; k < std::min(i + 8, pocket.size()); ++k) page += pocket[k];
    page += "</div>\n";
  }
  return page + "</main>\n</body>\n</html>\n";
}

}  // namespace swardline
