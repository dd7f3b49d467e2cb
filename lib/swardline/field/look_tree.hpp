// The order of looks with the least expected effort.
//
// As a problem: an optimal binary identification procedure (Garey 1972, "Optimal binary identification
// procedures"; from memory), here with looks of several states. Private to this stage; knows nothing of
// seasons.
#pragma once

#include <cstddef>
#include <cstdint>
#include <vector>

#include "swardline/field/separation.hpp"

namespace swardline {

/// A look, or an end.
struct TreeLook {
  struct Answer {
    std::uint64_t states = 0;  ///< all of these lead on to
    std::size_t next = 0;      ///< this one of LookTree::looks
  };
  static constexpr std::size_t end = std::size_t(-1);
  std::size_t character = end;
  std::vector<Answer> answers;      ///< by their first states
  std::vector<std::size_t> plants;  ///< all that it can still be, as LookTable::plant names them
};

struct LookTree {
  std::vector<TreeLook> looks;  ///< the first is where one begins; answers of several looks may lead to one;
                                ///< empty where nothing is to be told apart
  double effort = 0;            ///< expected, of one plant
  double number = 0;            ///< of looks, expected
  bool exact = true;  ///< false: too many orders to weigh them all; the first looks are those that tell most
                      ///< for their effort, and orders below are exact where they could be weighed
  bool whole = true;  ///< false: too many looks for any card; the likeliest are there
};

struct OrderLimits {
  std::size_t weighed = 30'000;     ///< sets of plants left that are weighed, in all
  std::size_t always_weighed = 60;  ///< from any look on, whatever was weighed before
  std::size_t looks = 300;          ///< looks and ends
};

/// Looks at `characters` and what is given until no pair that matters is left that one of them separates;
/// never at one that cannot be looked at on a plant still left.
///
/// A plant that may show several states of a character shows each as often as the others. One whose state is
/// not known goes down every branch, each as likely. States that lead to the same plants are one branch, and
/// a state that none of the plants left is known to show has none. Of equal orders the one that looks first
/// at the earlier character is taken.
[[nodiscard]] LookTree best_order(const LookTable& table, std::uint64_t characters,
                                  const OrderLimits& limits = {});

}  // namespace swardline
