// Trend over four seasons or more.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/estimate/change_paired.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/estimate/evaluated.hpp"

namespace swardline {

/// Fewer seasons show a change, not a trend.
inline constexpr int least_trend_seasons = 4;

enum class TrendWord { not_known, no_clear_trend, falling, rising };
[[nodiscard]] const char* word(TrendWord trend);  ///< "no clear trend", "falling", "rising"

/// A part of the spread, as a standard deviation of the square root of stems per plot.
struct TrendPart {
  std::string of;  ///< "site", "stratum", "year", "site and year", "plot", "rest"
  double sd = 0;
};

struct TrendEstimate {
  std::string where;  ///< "all sites", or a site's code
  std::string species;
  int seasons = 0, first_year = 0, last_year = 0;
  int plots = 0, counts = 0;
  double middle = 0;          ///< √(stems per plot) in the middle of the period
  double slope = 0;           ///< of √(stems per plot), a year
  double standard_error = 0;  ///< of the slope
  double degrees_freedom = 0;
  std::optional<LowHigh> limits;  ///< of the slope
  std::optional<double> percent;  ///< a year, of density, in the middle of the period
  std::optional<LowHigh> percent_limits;
  TrendWord trend = TrendWord::not_known;
  std::vector<TrendPart> parts;
  std::string unanswered;  ///< why there is no trend
};

struct SeasonTrend {
  std::string season;
  double unit_area_m2 = 0;  ///< what "a plot" is: the last season's
  double confidence = 0.90;
  std::vector<int> years;
  std::vector<TrendEstimate> estimates;  ///< by species: all sites, then sites
  std::string refused;                   ///< "3 seasons show a change, not a trend", …
};

/// The square root of stems per plot, on a line over the years, with random site, stratum, year, site and
/// year, and plot where plots are revisited (Urquhart & Kincaid 1999, Journal of Agricultural, Biological and
/// Environmental Statistics 4:404-414; Piepho & Ogutu 2002, ibid. 7:350-360), by restricted maximum
/// likelihood; plots that come and go with their panels stay in. The square root keeps zeros and steadies the
/// spread of counts (Bartlett 1947). A year lifts or lowers all plots together, so years, not plots, are what
/// a slope is known by: degrees of freedom are the seasons less two, exact where every plot is counted every
/// year and the year's part is above 0, cautious where it is estimated as 0. Every plot counts alike: it is a
/// trend of the plots, not weighted by ground.
///
/// Seasons in any order; two of one year throw InputError. A plot found farther than `moved_m` from where it
/// was is another plot.
[[nodiscard]] SeasonTrend trend_over(const std::vector<const EvaluatedSeason*>& seasons, double confidence,
                                     double moved_m, Flags& flags);

[[nodiscard]] std::string in_words(const SeasonTrend& trend);
/// Rows for the table of estimates: "trend of the square root of stems per plot, a year" and "trend, percent
/// a year".
[[nodiscard]] std::vector<EstimateRow> trend_rows(const SeasonTrend& trend);
[[nodiscard]] std::string to_json(const SeasonTrend& trend);

}  // namespace swardline
