// Identification cards: the fewest characters that tell a site's species apart in a week, and the best order
// to look at them.
#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "swardline/field/site_species.hpp"
#include "swardline/field/visits.hpp"
#include "swardline/season/season.hpp"
#include "swardline/season/traits.hpp"

namespace swardline {

/// A species to find or a plant to rule out, on a card.
struct CardPlant {
  std::string code;        ///< of a species of the season; empty for another plant
  std::string name;        ///< "Penstemon digitalis"
  std::string common;      ///< may be empty
  std::string warning;     ///< of another plant; may be empty
  bool likely = false;     ///< to be counted here; else only to be ruled out
  double weight = 0;       ///< chance that a plant looked at is this one; they add up to 1
  bool no_traits = false;  ///< none is written: it cannot be told from anything
};

/// One look, or where the looks end.
struct Look {
  struct Branch {
    std::vector<std::size_t> states;  ///< into Character::states: all of these lead on to
    std::size_t next = 0;             ///< this one of Card::looks
  };
  static constexpr std::size_t end = std::size_t(-1);
  std::size_t character = end;  ///< into Traits::characters; `end`: nothing more to look at
  std::vector<Branch> branches;
  std::vector<std::size_t> plants;  ///< into Card::plants: all that it can still be
};

/// Two plants that nothing tells apart in that week.
struct Inseparable {
  std::size_t first = 0, second = 0;  ///< into Card::plants
  std::string why;                    ///< "only flowers tell, and PLAX is past flowering"
  std::string photograph;             ///< what to photograph instead
};

struct Card {
  std::string site, site_name;
  int visit = 1;
  Day from = no_day, until = no_day;    ///< weeks of one visit that need the same looks are one card
  std::vector<CardPlant> plants;        ///< likely ones first, heaviest first
  std::vector<std::size_t> characters;  ///< into Traits::characters: the fewest, then the easiest
  std::vector<Look> looks;              ///< the first is looks[0]; empty where there is nothing to tell apart
  double looks_expected = 0;            ///< looks per plant, on average
  std::vector<Inseparable> inseparable;
};

}  // namespace swardline
