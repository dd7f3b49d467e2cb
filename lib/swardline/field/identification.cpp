#include "swardline/field/identification.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/field/card_week.hpp"
#include "swardline/field/look_tree.hpp"

namespace swardline {
namespace {

std::vector<std::size_t> bits_of(std::uint64_t set) {
  std::vector<std::size_t> bits;
  for (std::size_t i = 0; i < 64; ++i)
    if (set >> i & 1U) bits.push_back(i);
  return bits;
}

/// The card of one week.
class WeekView {
 public:
  WeekView(const Season& season, const std::vector<CardCandidate>& candidates, const CardWeek& week, int year)
      : season_(season), candidates_(candidates), week_(week), year_(year) {
    for (const CardCandidate& each : candidates) days_.push_back(stage_days(season, each, week, year));
    rows_ = week_table(season, candidates, days_);
  }

  [[nodiscard]] Card card() const {
    Card card;
    card.from = week_.from;
    card.until = week_.until;
    for (std::size_t i = 0; i < candidates_.size(); ++i) {
      card.plants.push_back(candidates_[i].plant);
      card.plants.back().flowering = flowering_words(days_[i]);
    }
    const ShortestSet shortest = shortest_set(rows_.table);
    for (const std::size_t character : bits_of(shortest.characters))
      card.characters.push_back(character - WeekTable::first_character);
    if (!shortest.exact)
      card.notes.emplace_back("There are too many characters to weigh all sets: a shorter one may exist.");
    add_looks(best_order(rows_.table, shortest.characters), card);
    add_inseparable(card);
    return card;
  }

 private:
  void add_looks(const LookTree& tree, Card& card) const {
    for (const TreeLook& each : tree.looks) {
      Look look;
      look.character = each.character == TreeLook::end          ? Look::end
                       : each.character == WeekTable::in_flower ? Look::in_flower
                                                                : each.character - WeekTable::first_character;
      for (const TreeLook::Answer& answer : each.answers)
        look.branches.push_back({bits_of(answer.states), answer.next});
      look.plants = each.plants;
      card.looks.push_back(std::move(look));
    }
    card.looks_expected = tree.number;
    if (!tree.whole)
      card.notes.emplace_back(
          "There are too many looks for a card: it holds those that are needed most often. Where it stops, "
          "photograph.");
    else if (!tree.exact)
      card.notes.emplace_back(
          "There are too many orders of looks to weigh them all: a quicker one may exist.");
  }

  /// Pairs that no character tells apart at a stage both may be met at.
  void add_inseparable(Card& card) const {
    const LookTable& table = rows_.table;
    std::set<std::pair<std::size_t, std::size_t>> pairs;
    for (std::size_t a = 0; a < table.plants(); ++a)
      for (std::size_t b = a + 1; b < table.plants(); ++b)
        if (table.matters(a, b) && table.separating(a, b) == 0 && has_traits(a) && has_traits(b))
          pairs.insert({table.plant[a], table.plant[b]});
    for (const auto& [a, b] : pairs) card.inseparable.push_back(inseparable(a, b));
  }
  [[nodiscard]] bool has_traits(std::size_t row) const {
    return !candidates_[rows_.table.plant[row]].plant.no_traits;
  }

  /// Why nothing tells two plants apart in this week.
  [[nodiscard]] Inseparable inseparable(std::size_t a, std::size_t b) const {
    Inseparable pair{a, b, {}, with_flower(a, b), photo_rule};
    std::vector<const Character*> would;
    for (const Character& each : season_.traits.characters) {
      const std::uint64_t x = written_states(each, candidates_[a]), y = written_states(each, candidates_[b]);
      if (x != 0 && y != 0 && (x & y) == 0) would.push_back(&each);
    }
    if (would.empty()) {
      pair.why = "nothing recorded of both tells them apart";
      return pair;
    }
    std::vector<std::string> names;
    for (const Character* each : would) names.push_back(character_words(*each));
    pair.why = fmt::format("{} would tell them, but {}", some_of(names, 3),
                           missing_words(a, b, would, names.size() == 1 ? "it" : "them"));
    pair.photograph = instead(a, b, would);
    return pair;
  }

  /// "PLAX is past flowering", "PALU and PDIG are not in flower yet", "PTEN may not show it then".
  [[nodiscard]] std::string missing_words(std::size_t a, std::size_t b,
                                          const std::vector<const Character*>& would, const char* it) const {
    std::vector<std::string> missing;
    std::set<std::string> how;
    for (const std::size_t plant : {a, b}) {
      if (std::any_of(would.begin(), would.end(),
                      [&](const Character* each) { return always_seen(*each, days_[plant].stages()); }))
        continue;
      missing.push_back(called(candidates_[plant].plant));
      how.insert(days_[plant].flower > 0 ? std::string() : flowering_words(days_[plant]));
    }
    if (missing.empty()) missing = {"one or the other"};
    if (how.size() != 1 || how.begin()->empty())
      return fmt::format("{} may not show {} then", in_words(missing), it);
    return fmt::format("{} {} {}", in_words(missing), missing.size() == 1 ? "is" : "are", *how.begin());
  }

  /// What an open flower tells all the same.
  [[nodiscard]] std::string with_flower(std::size_t a, std::size_t b) const {
    const bool x = days_[a].flower > 0, y = days_[b].flower > 0;
    if (x != y) return "it is not " + called(candidates_[x ? b : a].plant);
    const auto tells = [&](const Character& each) {
      const std::uint64_t p = written_states(each, candidates_[a]), q = written_states(each, candidates_[b]);
      return p != 0 && q != 0 && (p & q) == 0 && always_seen(each, stage_bit(PlantPart::flower));
    };
    const std::vector<Character>& all = season_.traits.characters;
    return x && std::any_of(all.begin(), all.end(), tells) ? "it tells them" : "";
  }

  /// The character that both show soonest, and from which day on.
  [[nodiscard]] std::string instead(std::size_t a, std::size_t b,
                                    const std::vector<const Character*>& would) const {
    if (week_.from == no_day) return photo_rule;
    const int shift = season_.plan.returns.shift_days;
    const auto show_it = [&](const Character& character, Day day) {
      return always_seen(character, stage_on(candidates_[a].window, day, year_, shift) |
                                        stage_on(candidates_[b].window, day, year_, shift));
    };
    const auto any = [&](Day day) {
      const auto at = std::find_if(would.begin(), would.end(),
                                   [&](const Character* each) { return show_it(*each, day); });
      return at == would.end() ? nullptr : *at;
    };
    constexpr Day a_season = 90;
    // A week that begins with days on which both show it has the last such day in it.
    for (Day day = week_.from; any(week_.from) == nullptr && day <= week_.until + a_season; ++day)
      if (const Character* each = any(day))
        return fmt::format("{} (both show it from {}); before that {}", each->look, short_date(day),
                           photo_rule);
    for (Day day = week_.until; day >= week_.from - a_season; --day)
      if (const Character* each = any(day))
        return fmt::format("{} if any is left (both show it until {}); and {}", each->look, short_date(day),
                           photo_rule);
    return fmt::format("{} where it shows; and {}", would.front()->look, photo_rule);
  }

  const Season& season_;
  const std::vector<CardCandidate>& candidates_;
  CardWeek week_;
  int year_;
  std::vector<StageDays> days_;  ///< by candidate
  WeekTable rows_;
};

std::vector<CardWeek> card_weeks_of(const Visit& visit) {
  std::vector<CardWeek> weeks;
  if (visit.from == no_day || visit.until == no_day) return weeks;
  for (Day day = visit.from; day <= visit.until; day += 7) {
    const CardWeek week{day, std::min(visit.until, day + 6)};
    const bool open =
        visit.open.empty() || std::any_of(visit.open.begin(), visit.open.end(), [&](const DayRange& range) {
          return range.from <= week.until && week.from <= range.until;
        });
    if (open) weeks.push_back(week);
  }
  return weeks;
}

/// Of states of Look::in_flower.
std::string in_flower_words(const std::vector<std::size_t>& states) {
  static constexpr std::array<const char*, 3> one = {"yes", "not yet: buds, or leaves only",
                                                     "no longer: capsules"};
  if (states == std::vector<std::size_t>{1, 2}) return "no";
  std::string words;
  for (const std::size_t state : states) words += (words.empty() ? "" : ", or ") + std::string(one.at(state));
  return words;
}

bool same_but_for_days(Card a, const Card& b) {
  a.from = b.from;
  a.until = b.until;
  return a == b;
}

}  // namespace

std::vector<Card> identification_cards(const Season& season, const std::vector<SiteSpecies>& sites,
                                       const std::vector<Visit>& visits, int year) {
  std::vector<Card> cards;
  for (const Visit& visit : visits) {
    const auto site = std::find_if(sites.begin(), sites.end(),
                                   [&](const SiteSpecies& each) { return each.site == visit.site; });
    if (site == sites.end() || site->likely.empty()) continue;
    const std::vector<CardCandidate> candidates = candidates_at(season, *site);
    const std::size_t first = cards.size();
    for (const CardWeek& week : card_weeks_of(visit)) {
      Card card = WeekView(season, candidates, week, year).card();
      card.site = site->site;
      card.site_name = site->name;
      card.visit = visit.number;
      if (cards.size() > first && same_but_for_days(cards.back(), card))
        cards.back().until = card.until;
      else
        cards.push_back(std::move(card));
    }
  }
  return cards;
}

std::vector<Card> training_cards(const Season& season) {
  if (season.sheets.empty()) return {};
  const std::vector<CardCandidate> candidates = candidates_of(season);
  Card card = WeekView(season, candidates, CardWeek{}, 0).card();
  card.site_name = season.plan.name;
  card.visit = 0;
  return {std::move(card)};
}

LookWords look_words(const Traits& traits, const Look& look) {
  LookWords words;
  if (look.character == Look::in_flower) {
    words.asked = "the whole stem: is a flower open on it?";
    for (const Look::Branch& branch : look.branches) words.answers.push_back(in_flower_words(branch.states));
    return words;
  }
  const Character& character = traits.characters.at(look.character);
  words.asked = character.look;
  words.ease = character.ease;
  for (const Look::Branch& branch : look.branches) {
    words.answers.emplace_back();
    for (const std::size_t state : branch.states)
      words.answers.back() += (words.answers.back().empty() ? "" : " or ") + character.states.at(state).words;
  }
  return words;
}

}  // namespace swardline
