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
  std::string flowering;   ///< in the card's days: "not in flower yet"; empty: in flower on all of them
  bool no_traits = false;  ///< none is written: it cannot be told from anything
  std::string tell;        ///< of such a plant: how the sheets say to tell it; may be empty
  bool operator==(const CardPlant&) const = default;
};

/// One look, or where the looks end.
struct Look {
  struct Branch {
    std::vector<std::size_t> states;  ///< into Character::states: all of these lead on to
    std::size_t next = 0;             ///< this one of Card::looks; several branches may lead to one
    bool operator==(const Branch&) const = default;
  };
  static constexpr std::size_t end = std::size_t(-1);
  static constexpr std::size_t in_flower = std::size_t(-2);
  /// Into Traits::characters; `end`: nothing more to look at; `in_flower`: whether a flower is open, with the
  /// states 0 open, 1 none yet, 2 over.
  std::size_t character = end;
  std::vector<Branch> branches;
  std::vector<std::size_t> plants;  ///< into Card::plants: all that it can still be
  bool operator==(const Look&) const = default;
};

/// Two plants that nothing tells apart in that week, or nothing where no flower is open.
struct Inseparable {
  std::size_t first = 0, second = 0;  ///< into Card::plants
  std::string why;                    ///< "colour would tell them, but PLAX is past flowering"
  std::string with_flower;  ///< what an open flower tells all the same: "it is not PLAX"; may be empty
  std::string photograph;   ///< what to photograph instead
  bool operator==(const Inseparable&) const = default;
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
  std::vector<std::string> notes;  ///< in words, where the order of looks is not the best or not whole
  bool operator==(const Card&) const = default;
};

/// What to photograph where a plant stays in doubt (common practice).
inline constexpr const char* photo_rule = "flower side-on, sepals, leaf pair, whole plant, pencil for scale";

/// The cards of each visit, by visit, then week.
///
/// On a card stand all species likely at the site, also those of another visit; species of the season that
/// are possible there and a look-alike of a likely one, either way round; and plants that a likely species'
/// sheet names as its look-alikes, where they are not known to be at other sites only. Of a look-alike's
/// numbers nothing is known: it weighs as much as the least likely species.
///
/// Weeks are runs of seven days from the visit's first; one without an open day has no card. A plant is in
/// bud before its window (moved by [returns] shift_days), in flower in it, in capsule after it; without a
/// window it is taken to be in flower. A character can be looked at where leaves show it, or at the stages
/// that show it. Where all plants are in flower all week there are no other stages. Else a plant is looked
/// for at each stage of the week's days, each as likely as it has days; one of which a flower may be open
/// stands beside the others where none is, for a single stem may be early or late, but two such need not be
/// told apart there; and "is a flower open?" is a look that parts stages, never counted among the characters.
/// So what is known of flowers is never asked of a plant that has none, and no such plant stands where it is.
///
/// Likely species of which no character is written stand wherever their stage lets them.
///
/// Characters are the fewest, of these the easiest (at a glance 1, close look 2, lens 4), of these the first
/// in the file. Looks are in the order of least expected effort; see field/separation.hpp and
/// field/look_tree.hpp. `year` is the season's.
[[nodiscard]] std::vector<Card> identification_cards(const Season& season,
                                                     const std::vector<SiteSpecies>& sites,
                                                     const std::vector<Visit>& visits, int year);

/// For training: all species of the season with all their look-alikes, each in flower and equally likely.
/// Empty where the season has no species.
[[nodiscard]] std::vector<Card> training_cards(const Season& season);

/// A look in words: what to look at, and what each of its branches says.
struct LookWords {
  std::string asked;  ///< "the throat of a flower, from the side"
  Ease ease = Ease::at_a_glance;
  std::vector<std::string> answers;  ///< by branch: "a slender, even tube or widens little by little"
};
/// Of a look that is no end.
[[nodiscard]] LookWords look_words(const Traits& traits, const Look& look);

/// A likely species on a site's sheet.
struct SpeciesMark {
  std::size_t sheet = 0;  ///< into Season::sheets
  std::string mark;       ///< "throat: a slender, even tube", and what it does not tell it from; never empty
  std::string rule_out;   ///< "PDIG: throat swells suddenly"; "nothing alike is known here"
  std::string window;     ///< "20 May-25 Jun", moved by [returns] shift_days; "any day"
};

/// For each likely species, in their order: the character or, where no single one does, the two that tell it
/// from all that may be there in the visit's days, the easiest; where no two do, those that tell it from most
/// (by weight) and what they do not tell it from. They are seen on it on all days of the visit, and tell it
/// from a plant that shows other states, or that has no flower on any day where they are of the flower.
/// To rule out: a look-alike of its sheet that may be there, one with a warning before all, else the first;
/// where none may, the plant there that is told from it by the fewest characters.
[[nodiscard]] std::vector<SpeciesMark> species_marks(const Season& season, const SiteSpecies& site,
                                                     const Visit& visit, int year);

}  // namespace swardline
