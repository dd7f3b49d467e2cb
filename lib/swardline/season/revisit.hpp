// Which seasons a plot is visited in: revisit patterns.
//
// McDonald 2003, Review of environmental monitoring methods: survey designs, Environmental Monitoring and
// Assessment 85:277-292 (the way of writing them from memory).
#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace swardline {

/// One part of a pattern. "1-0": every season; "1-3": one season on, three off, and again; "1-n": once, never
/// again; "2-1-1-n": two on, one off, one on, never again.
struct RevisitPart {
  std::string text;          ///< "1-3"
  std::vector<int> on_off;   ///< seasons on, off, on, off …; an even number of them
  bool never_again = false;  ///< the last "off" has no end; on_off ends with 0 then
  double share = 1;          ///< of the plots of a season

  /// Seasons until the pattern begins again; for one that never does, until its last visit.
  [[nodiscard]] int cycle() const;
  /// Whether a plot first met in season 0 is visited in this one; never before season 0.
  [[nodiscard]] bool on(int season) const;
  [[nodiscard]] bool always() const;
  [[nodiscard]] int visits() const;  ///< in one cycle
};

/// The parts of a pattern, "[1-0,1-3]", with equal shares; where it cannot be read `problem` says why and
/// nothing is returned.
[[nodiscard]] std::vector<RevisitPart> read_pattern(std::string_view text, std::string& problem);

}  // namespace swardline
