// The parts of the season's page, in its order. A new part is one function and one row in season_sections().
// Private to this folder.
#pragma once

#include <functional>
#include <map>
#include <string>
#include <string_view>
#include <tuple>
#include <vector>

#include "swardline/report/season_page.hpp"

namespace swardline {

/// What became of a site's plots.
struct SiteEffort {
  std::string site, name;
  double survey_m2 = 0;
  int due = 0, counted = 0, not_counted = 0, outstanding = 0;
  std::map<std::string, int> reasons;  ///< of those not counted
  int spares_in_use = 0, spares_counted = 0;
  int visits = 0;
  int timed_visits = 0;     ///< visits whose start and finish tell
  double person_hours = 0;  ///< of those
  [[nodiscard]] double share_counted() const { return due > 0 ? double(counted) / due : 0; }
};

/// What the draw's certificate says of how it was done.
struct DrawInWords {
  std::string inputs, inputs_of, unit, estimator;
  std::vector<std::string> allocation, methods, routes, losses, shortfalls, record;
  std::map<std::string, std::string> rules;  ///< by stratum, in words
  std::map<std::string, int> versions;       ///< by stratum, of the strata of record
};

/// One species at one place, all strata together.
struct FoundThere {
  std::string where;
  const EstimateRow* density = nullptr;
  const EstimateRow* total = nullptr;
  const EstimateRow* share = nullptr;
  const EstimateRow* with_not_certain = nullptr;  ///< density, sure + not certain
};

/// The facts, looked up once for all parts.
class SeasonLookup {
 public:
  explicit SeasonLookup(const SeasonFacts& facts);  ///< which must live as long
  explicit SeasonLookup(SeasonFacts&&) = delete;
  const SeasonFacts& facts;
  DrawInWords draw;
  std::vector<SiteEffort> sites;  ///< by code
  SiteEffort all;                 ///< summed
  std::string unit;               ///< "plots", "transects"
  [[nodiscard]] bool any_counted() const { return facts.estimates != nullptr; }
  [[nodiscard]] std::string one_unit() const { return unit.substr(0, unit.size() - 1); }
  /// "12 plots", "1 plot"
  [[nodiscard]] std::string units(int number) const;
  /// "white wand beardtongue (PTUB)"
  [[nodiscard]] std::string species_name(const std::string& code) const;
  [[nodiscard]] std::string plain_name(const std::string& code) const;  ///< "white wand beardtongue"
  /// "QPR Quill Prairie" of a site's code; other places as they are.
  [[nodiscard]] std::string place_name(const std::string& where) const;
  /// What belongs to a stratum, in words that no other stratum of its site has: "score 0.50–0.75 of the best
  /// species".
  [[nodiscard]] const std::string& stratum_ground(const std::string& id) const;
  /// Text of the draw with strata in words in place of their identities: "QPR score 0.50–0.75".
  [[nodiscard]] std::vector<std::string> with_strata_in_words(std::vector<std::string> texts) const;
  /// A file beside the page as paper names it: "out/estimates.csv, which estimate writes"; of a draw's files
  /// the command is not said.
  [[nodiscard]] std::string out_file(const char* name, const char* made_by = nullptr) const;
  [[nodiscard]] std::string store_name() const;  ///< "season.gpkg"
  [[nodiscard]] const Plot* plot(std::string_view name) const;
  /// Places of a species in the estimates' order: all sites, attributes, sites.
  [[nodiscard]] const std::vector<FoundThere>& found(const std::string& species) const;

 private:
  void sum_effort();
  void read_certificate();
  void index_estimates();
  void name_strata();
  std::map<std::string, const Plot*, std::less<>> plots_;
  std::map<std::string, std::string> strata_;               ///< ground in words by identity
  std::map<std::string, std::string, std::greater<>> ids_;  ///< by identity, with its version and without
  std::map<std::string, std::vector<FoundThere>> found_;
};

struct SeasonSection {
  const char* id;
  const char* title;
  std::string (*body)(const SeasonLookup& season);  ///< markup; empty where the season has none of it
};
[[nodiscard]] const std::vector<SeasonSection>& season_sections();

// One function a part, in the order of the page.
[[nodiscard]] std::string in_short_part(const SeasonLookup& season);
[[nodiscard]] std::string surveyed_part(const SeasonLookup& season);
[[nodiscard]] std::string effort_part_of_season(const SeasonLookup& season);
[[nodiscard]] std::string found_part(const SeasonLookup& season);
[[nodiscard]] std::string change_part(const SeasonLookup& season);
[[nodiscard]] std::string doubts_part(const SeasonLookup& season);
[[nodiscard]] std::string rules_part(const SeasonLookup& season);
[[nodiscard]] std::string not_estimated_part(const SeasonLookup& season);
[[nodiscard]] std::string sources_part(const SeasonLookup& season);
[[nodiscard]] std::string origin_part(const SeasonLookup& season);
[[nodiscard]] std::string care_of_season_part(const SeasonLookup& season);

/// Markup: lists of short texts, those that say the same of several places as one: "ANL and DSK: limits
/// rough: 1 occupied plot."
[[nodiscard]] std::string notes_by_place(const std::vector<std::pair<std::string, std::string>>& notes);

/// The five sentences of the first part, as text.
[[nodiscard]] std::vector<std::string> season_in_sentences(const SeasonLookup& season);

// Numbers of estimates as people read them, an estimate and its limits rounded to one place
// (step_beside_limits).
[[nodiscard]] std::string said_value(const EstimateRow& row);   ///< "1,370"; "0"
[[nodiscard]] std::string said_limits(const EstimateRow& row);  ///< "650–2,860", "under 120", "–"
/// "−420", "+190": of a change, rounded to a multiple of `step`.
[[nodiscard]] std::string with_sign_in(double value, double step);
[[nodiscard]] bool nothing_found(const EstimateRow& row);
/// "42 of 48"
[[nodiscard]] std::string of_all(int some, int all);

}  // namespace swardline
