// How many plots each stratum gets: whole numbers that add up.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/base/place.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

struct Share {
  std::string stratum;      ///< breaks ties
  double area = 0;          ///< any unit, the same for all
  double spread = 1;        ///< standard deviation of plot counts, for optimal
  bool least_only = false;  ///< gets the minimum and no more (the stratum without a score)
  double cost = 1;          ///< of one plot, above 0; any unit, the same for all
};

/// What is shared out: a number of plots, or a sum that the costs of the plots must not pass.
struct Available {
  double amount = 0;
  bool is_cost = false;  ///< in the unit of Share::cost
  [[nodiscard]] static Available plots(int number) { return {double(number), false}; }
  [[nodiscard]] static Available budget(double cost) { return {cost, true}; }
};

/// What is available over the shares: every stratum its minimum first, the rest by equal parts,
/// area (proportional) or area × spread / √cost (optimal: Neyman 1934; with costs Cochran 1977 §5.5),
/// largest remainder, ties by stratum. A stratum whose fair share is below the minimum keeps the
/// minimum and the others share what is left. The result does not depend on the order of the shares.
/// The numbers add up to the plots available unless every share is `least_only`; of a budget less than
/// one plot of those that the last plots went past is left. Throws InputError at `place` when the minimum
/// needs more than there is, with both numbers, and when an optimal allocation has spread nowhere.
[[nodiscard]] std::vector<int> allocate(const std::vector<Share>& shares, Available available, int least,
                                        Allocation how, const Place& place = {});
[[nodiscard]] inline std::vector<int> allocate(const std::vector<Share>& shares, int total, int least,
                                               Allocation how, const Place& place = {}) {
  return allocate(shares, Available::plots(total), least, how, place);
}

/// What is expected of one species' counts per plot in every share (beside the shares; those that are
/// `least_only` are passed over).
struct ExpectedSpecies {
  std::string code;     ///< breaks ties
  double target = 0.2;  ///< relative standard error wanted of its total, as a share (0.2 = 20 %); above 0
  std::vector<double> mean, sd;
};

/// A compromise over species: every stratum its minimum first (at least one plot where any species has
/// spread), then each further plot to the stratum that most lowers, for its cost, the variance of the
/// species whose expected relative standard error is largest beside its target; exact ties by stratum
/// or species. With one species and equal costs this is the least variance that whole numbers can give
/// (Wright 2012, The American Statistician 66:217-224). Grows with plots × log(strata). Throws InputError as
/// `allocate` does, and for a species whose mean is 0 everywhere.
[[nodiscard]] std::vector<int> allocate_over_species(const std::vector<Share>& shares,
                                                     const std::vector<ExpectedSpecies>& species,
                                                     Available available, int least, const Place& place = {});

/// Expected relative standard error of the species' total over the shares that are not `least_only`,
/// √(Σ A²S²/n) / Σ A·mean (Cochran 1977, theorem 5.3, without a finite correction: plots are small beside
/// their strata). None where the mean is 0 everywhere, or a stratum with spread has no plot.
[[nodiscard]] std::optional<double> expected_relative_error(const std::vector<Share>& shares,
                                                            const std::vector<int>& numbers,
                                                            const ExpectedSpecies& species);

}  // namespace swardline
