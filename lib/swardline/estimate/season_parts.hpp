// A season taken apart for its estimates: strata with their units, the places asked for, and what one
// species' counts in them come to. Private to this folder.
#pragma once

#include <array>
#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "swardline/design/neighbourhood_variance.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/estimate/limits.hpp"
#include "swardline/estimate/stratified.hpp"

namespace swardline::estimate_parts {

/// A stratum's ground, geodesic, and its units; the same for all species.
struct StratumUnits {
  const EvaluatedStratum* of = nullptr;
  double ground = 0;      ///< m² that estimates speak of: the survey area, or what lies inside the margin
  double expands = 0;     ///< m² by which Σ count / Σ area becomes a total: with a grown frame its frame
  double margin = 0;      ///< m² of survey area that no pin may fall in
  bool crossing = false;  ///< lies in several sites
  std::vector<std::uint32_t> used;  ///< units in use
  std::vector<std::uint32_t> evaluated;
  [[nodiscard]] bool left_out() const { return of->kind == "excluded"; }
};

/// A stratum, or the units of one site in it.
struct Part {
  std::uint32_t stratum = 0;
  std::int32_t site = -1;  ///< -1: all of it
};

struct PlaceOf {
  std::string where;
  std::int32_t stratum = -1;  ///< a stratum's own row
  std::vector<Part> parts;
  double known_ground = 0;  ///< m², of a domain whose ground is known; 0: as the plots say
  [[nodiscard]] bool domain() const;
};

struct SeasonParts {
  const EvaluatedSeason* season = nullptr;
  std::vector<StratumUnits> strata;
  std::vector<std::int32_t> site_of;  ///< by unit, index into sites; -1: none of them
  std::vector<PlaceOf> places;        ///< all sites, attributes, then each site followed by its strata
};
[[nodiscard]] SeasonParts take_apart(const EvaluatedSeason& season, const EstimateSpec& spec);

/// Which stems are taken.
enum class Names { sure, with_not_certain };

/// One stratum's searched units for one species.
struct StratumSample {
  std::vector<std::uint32_t> units;
  std::vector<double> y, a, w;  ///< stems, m², and by how much a unit's stems count for the total
  double total = 0, variance = 0;
  double neighbourhood = 0;  ///< variance of the total
  int occupied = 0;
  [[nodiscard]] std::size_t n() const { return units.size(); }
};

/// Neighbourhoods of a stratum's units, kept while the same units are asked for.
class Neighbourhoods {
 public:
  explicit Neighbourhoods(const SeasonParts& parts) : parts_(parts), kept_(parts.strata.size()) {}
  /// Null where there are fewer than two.
  const NeighbourWeights* of(std::size_t stratum, const std::vector<std::uint32_t>& units);

 private:
  struct Kept {
    std::vector<std::uint32_t> units;
    NeighbourWeights weights;
  };
  const SeasonParts& parts_;
  std::vector<Kept> kept_;
};

[[nodiscard]] std::vector<StratumSample> samples_of(const SeasonParts& parts, std::size_t species,
                                                    Names names, Neighbourhoods& neighbourhoods);

/// What the samples of a place come to.
struct Combined {
  int plots = 0, occupied = 0;
  double ground = 0;  ///< m² that is estimated
  Estimated density;  ///< stems per m²
  Estimated total;
  bool by_neighbourhood = false;  ///< which variance these two have
  double other_variance = 0;      ///< of the density: the one of the two that they do not have
  double largest = 0;             ///< share of the total that one plot holds
  Estimated accessible;           ///< total stems, each stratum's by its share of plots that could be counted
  bool all_accessible = true;
  std::vector<SearchedGround> searched;  ///< by stratum
  /// Plots with stems, where they are few: stems and area weighted to a common expansion; all area likewise.
  std::vector<double> counts, areas, expanded;
  double all_area = 0, heaviest = 0;
  Estimated share;      ///< of plots occupied
  std::string merged;   ///< strata of one plot and what they were merged with, in words
  std::string without;  ///< strata of one plot that nothing could be merged with
  [[nodiscard]] bool few() const { return occupied < 10; }
  [[nodiscard]] bool rare() const { return few() && 4 * occupied < plots; }
  [[nodiscard]] bool too_narrow() const { return few() || largest > 0.25; }
};
[[nodiscard]] Combined combine(const SeasonParts& parts, const PlaceOf& place,
                               const std::vector<StratumSample>& samples, Neighbourhoods& neighbourhoods);

/// Adds a species' rows and notes for a place.
struct RowsOf {
  const SeasonParts& parts;
  double confidence;
  bool symmetric;
};
void add_rows(const RowsOf& how, const PlaceOf& place, const std::string& species, const Combined& sure,
              const Combined* with_not_certain, Estimates& into);
/// Clumping of one stratum's counts, where its plots are of one size.
void add_dispersion(const RowsOf& how, const PlaceOf& place, const std::string& species,
                    const StratumSample& sample, Estimates& into);
void add_recounts(const RowsOf& how, std::size_t species, Estimates& into);
/// Horvitz and Thompson's total beside Hájek's, of seasons with unequal chances.
void add_horvitz_thompson(const RowsOf& how, const PlaceOf& place, const std::string& species,
                          const std::vector<StratumSample>& samples, Estimates& into);

/// "no plot counted (no permission: 4)"
[[nodiscard]] std::string none_counted_in_words(const std::map<std::string, int>& fates);
/// Ground by reason, of all species and of one.
void add_ground(const SeasonParts& parts, Estimates& into);
void add_ground_of_species(const SeasonParts& parts, std::size_t species,
                           const std::vector<StratumSample>& samples, Estimates& into);

[[nodiscard]] const char* unit_word(const EvaluatedSeason& season, bool many = true);  ///< "plots"

}  // namespace swardline::estimate_parts
