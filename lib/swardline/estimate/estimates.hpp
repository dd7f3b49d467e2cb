// A season's estimates: density, total and occupied share by stratum, site, site attribute and over all
// sites, each with its limits and its method; and what could not be estimated, and why.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/estimate/evaluated.hpp"

namespace swardline {

/// One number. `measure` is one of
///   "stems per ha", "total stems", "occupied share"        of stems recorded as sure
///   the same with ", sure + not certain"                   where a species has uncertain stems
///   "total stems on accessible land"                       where plots could not be counted
///   "variance to mean ratio", "negative binomial k"        of plots of one size
///   "recount ratio", "occupied plots by two observers"     where plots were counted a second time
struct EstimateRow {
  std::string where;    ///< a site's code, "habitat = glade", or "all sites"
  std::string stratum;  ///< its identity; empty: all of the place
  std::string species;
  std::string measure;
  double value = 0;
  std::optional<double> standard_error;
  std::optional<double> low, high;
  double confidence_percent = 0;  ///< of the limits; one-sided where nothing was found
  std::string limits_kind;        ///< "log-based", "symmetric", "nothing found", "Wilson", …; empty: none
  int plots = 0;                  ///< or transects, segments
  int occupied = 0;               ///< of them, with stems
  std::optional<double> degrees_freedom;
  std::string estimator;  ///< how it was worked out, in words
  std::string source;     ///< who published that
  bool beside = false;    ///< by another method than the row of the same measure that leads
};

/// Ground that the plots which were not counted stand for; the estimate takes it to be like the rest of its
/// stratum.
struct MissingGround {
  std::string where, species;  ///< species: empty for all
  std::string reason;          ///< "no permission"
  double m2 = 0;
  double share = 0;  ///< of the place's ground that is estimated
  int plots = 0;
};

/// Ground of which no estimate speaks.
struct NotEstimated {
  std::string where, stratum, species;  ///< species: empty for all
  std::string reason;
  double m2 = 0;
  std::map<std::string, int> fates = {};  ///< where no plot was counted: plots by what became of them
};

struct EstimateNote {
  std::string where, species;
  std::string text;           ///< a sentence
  bool needs_person = false;  ///< a headline warning
};

struct Estimates {
  std::string season;
  int year = 0, returns_version = 0;
  double confidence = 0.9;
  std::string unit;                  ///< "plots" or "transects"
  std::vector<std::string> species;  ///< estimated
  std::vector<EstimateRow> rows;     ///< by species: all sites, attributes, then each site with its strata
  std::vector<MissingGround> missing;
  std::vector<NotEstimated> not_estimated;
  std::vector<EstimateNote> notes;
  /// The first row of a measure; null where there is none. `estimator` picks one out by what it contains.
  [[nodiscard]] const EstimateRow* row(std::string_view where, std::string_view stratum,
                                       std::string_view species_code, std::string_view measure,
                                       std::string_view estimator_has = {}) const;
};

struct EstimateOptions {
  std::vector<std::string> species;  ///< codes; empty: all
  bool symmetric = false;            ///< symmetric limits beside the others
  int threads = 1;                   ///< results do not depend on it
};

/// Estimates are ratios of totals by stratum (Cochran 1977, ch. 6), as the edge rule asks (design/edges.hpp);
/// with unequal chances weighted by 1 / chance (Hájek), Horvitz and Thompson's beside; of a site in strata of
/// several sites the ratio of a domain. Plots are spread, which the stratified variance does not know: where
/// every stratum of a place (no domain, no transects) has ten plots, the neighbourhood variance leads
/// (Stevens & Olsen 2003, by 1 − Σw²), else the stratified; the other has rows of its own. Limits are
/// log-based; where none was found, those of nothing found; where fewer than ten plots, and fewer than one in
/// four, hold the species, those of clumped counts (see limits.hpp). A stratum of one plot is merged, for the
/// variance only, with the nearest in the list of strata, of its own site where there is one (collapsed
/// strata, Cochran 1977, 5A.12). InputError: a species that is not of the season, a confidence outside (0,
/// 1).
[[nodiscard]] Estimates estimate_season(const EvaluatedSeason& season, const EstimateSpec& spec,
                                        const EstimateOptions& options = {});

/// For the terminal: a table a species, and beneath it what a reader must know.
[[nodiscard]] std::string in_words(const Estimates& estimates);

/// The table estimates.csv: where, stratum, species, measure, value, standard_error, limit_low, limit_high,
/// confidence_percent, limits_kind, plots, degrees_freedom, estimator, source. Numbers to nine figures.
[[nodiscard]] std::string estimates_csv(const Estimates& estimates);

/// Everything as JSON. Rows name their method by its number in "methods".
[[nodiscard]] std::string estimates_json(const Estimates& estimates);

}  // namespace swardline
