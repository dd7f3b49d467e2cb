#include "swardline/field/identification.hpp"

#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/field/card_plants.hpp"
#include "swardline/field/look_tree.hpp"
#include "swardline/field/separation.hpp"

namespace swardline {
namespace {

struct CardWeek {
  Day from = no_day, until = no_day;  ///< no_day: every plant in flower
};

Stages stages_in(const Season& season, const CardCandidate& candidate, const CardWeek& week, int year) {
  if (week.from == no_day) return stage_bit(PlantPart::flower);
  return stages_between(candidate.window, week.from, week.until, year, season.plan.returns.shift_days);
}

std::vector<std::size_t> bits_of(std::uint64_t set) {
  std::vector<std::size_t> bits;
  for (std::size_t i = 0; i < 64; ++i)
    if (set >> i & 1U) bits.push_back(i);
  return bits;
}

/// What can be seen in a week of the candidates that have characters.
class WeekView {
 public:
  WeekView(const Season& season, const std::vector<CardCandidate>& candidates, const CardWeek& week, int year)
      : season_(season), candidates_(candidates), week_(week), year_(year) {
    for (const Character& each : season.traits.characters) table_.effort.push_back(effort_of(each.ease));
    for (std::size_t i = 0; i < candidates.size(); ++i) {
      const CardCandidate& each = candidates[i];
      stages_.push_back(stages_in(season, each, week, year));
      if (each.plant.no_traits) continue;
      rows_.push_back(i);
      table_.weight.push_back(each.plant.weight);
      table_.likely.push_back(each.plant.likely);
      std::vector<std::uint64_t> shown;
      for (const Character& character : season.traits.characters)
        shown.push_back(always_seen(character, stages_.back()) ? written_states(character, each) : 0);
      table_.shown.push_back(std::move(shown));
    }
  }

  [[nodiscard]] Card card() const {
    Card card;
    card.from = week_.from;
    card.until = week_.until;
    for (const CardCandidate& each : candidates_) card.plants.push_back(each.plant);
    const ShortestSet shortest = shortest_set(table_);
    card.characters = bits_of(shortest.characters);
    if (!shortest.exact)
      card.notes.emplace_back("There are too many characters to weigh all sets: a shorter one may exist.");
    add_looks(best_order(table_, shortest.characters), card);
    for (std::size_t a = 0; a < rows_.size(); ++a)
      for (std::size_t b = a + 1; b < rows_.size(); ++b)
        if (table_.matters(a, b) && table_.separating(a, b) == 0)
          card.inseparable.push_back(inseparable(rows_[a], rows_[b]));
    return card;
  }

 private:
  void add_looks(const LookTree& tree, Card& card) const {
    for (const TreeLook& each : tree.looks) {
      Look look;
      look.character = each.character == TreeLook::end ? Look::end : each.character;
      for (const TreeLook::Answer& answer : each.answers)
        look.branches.push_back({bits_of(answer.states), answer.next});
      for (const std::size_t plant : each.plants) look.plants.push_back(rows_[plant]);
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

  /// Why nothing tells two plants apart in this week.
  [[nodiscard]] Inseparable inseparable(std::size_t a, std::size_t b) const {
    Inseparable pair{a, b, {}, photo_rule};
    std::vector<const Character*> would;
    for (const Character& each : season_.traits.characters) {
      const std::uint64_t x = written_states(each, candidates_[a]), y = written_states(each, candidates_[b]);
      if (x != 0 && y != 0 && (x & y) == 0) would.push_back(&each);
    }
    if (would.empty()) {
      pair.why = "no character that is written of both tells them apart";
      return pair;
    }
    std::vector<std::string> names, missing;
    for (const Character* each : would) names.push_back(character_words(*each));
    for (const std::size_t plant : {a, b})
      if (std::none_of(would.begin(), would.end(),
                       [&](const Character* each) { return always_seen(*each, stages_[plant]); }))
        missing.push_back(called(candidates_[plant].plant));
    if (missing.empty()) missing = {"one or the other"};
    pair.why = fmt::format("{} would tell them, but {} may not show {} then", some_of(names, 3),
                           in_words(missing), names.size() == 1 ? "it" : "them");
    pair.photograph = instead(a, b, would);
    return pair;
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
  LookTable table_;
  std::vector<std::size_t> rows_;  ///< candidate of each plant of the table
  std::vector<Stages> stages_;     ///< by candidate
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

}  // namespace swardline
