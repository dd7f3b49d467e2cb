#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <iterator>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/estimate/season_parts.hpp"

namespace swardline {
namespace {

using namespace estimate_parts;

std::vector<std::size_t> species_asked(const EvaluatedSeason& season, const std::vector<std::string>& codes) {
  std::vector<std::size_t> asked;
  for (const std::string& code : codes) {
    const auto found = std::find(season.species.begin(), season.species.end(), code);
    if (found == season.species.end()) {
      const std::string near = nearest_word(code, season.species);
      throw InputError({}, fmt::format("{} is not a species of the season.", code),
                       near.empty() ? "Its species: " + in_words(season.species) + "."
                                    : fmt::format("Did you mean {}?", near));
    }
    asked.push_back(std::size_t(found - season.species.begin()));
  }
  if (codes.empty())
    for (std::size_t s = 0; s < season.species.size(); ++s) asked.push_back(s);
  return asked;
}

bool has_uncertain(const EvaluatedSeason& season, std::size_t species) {
  return std::any_of(season.units.begin(), season.units.end(), [&](const EvaluatedUnit& unit) {
    return unit.evaluated && species < unit.counts.size() && unit.counts[species].searched &&
           unit.counts[species].not_certain > 0;
  });
}

/// Rows, notes and ground of one species.
void add_species(const RowsOf& how, std::size_t species, Neighbourhoods& neighbourhoods, Estimates& into) {
  const SeasonParts& parts = how.parts;
  const std::string& code = parts.season->species[species];
  const std::vector<StratumSample> sure = samples_of(parts, species, Names::sure, neighbourhoods);
  const bool uncertain = has_uncertain(*parts.season, species);
  std::vector<StratumSample> all;
  if (uncertain) all = samples_of(parts, species, Names::with_not_certain, neighbourhoods);
  for (const PlaceOf& place : parts.places) {
    const Combined of_sure = combine(parts, place, sure, neighbourhoods);
    Combined of_all;
    if (uncertain) of_all = combine(parts, place, all, neighbourhoods);
    add_rows(how, place, code, of_sure, uncertain ? &of_all : nullptr, into);
    add_horvitz_thompson(how, place, code, sure, into);
    if (place.stratum >= 0) add_dispersion(how, place, code, sure[std::size_t(place.stratum)], into);
  }
  add_recounts(how, species, into);
  add_ground_of_species(parts, species, sure, into);
  const bool looked = std::any_of(sure.begin(), sure.end(), [](const StratumSample& s) { return s.n() > 0; });
  if (!looked)
    into.notes.push_back({"all sites", code, "no plot was searched for it: nothing is known", false});
}

template <typename List>
void append(List& to, List& from) {
  to.insert(to.end(), std::make_move_iterator(from.begin()), std::make_move_iterator(from.end()));
}

}  // namespace

const EstimateRow* Estimates::row(std::string_view where, std::string_view stratum,
                                  std::string_view species_code, std::string_view measure,
                                  std::string_view estimator_has) const {
  const auto found = std::find_if(rows.begin(), rows.end(), [&](const EstimateRow& one) {
    return one.where == where && one.stratum == stratum && one.species == species_code &&
           one.measure == measure && one.estimator.find(estimator_has) != std::string::npos;
  });
  return found == rows.end() ? nullptr : &*found;
}

Estimates estimate_season(const EvaluatedSeason& season, const EstimateSpec& spec,
                          const EstimateOptions& options) {
  if (!(spec.confidence > 0 && spec.confidence < 1))
    throw InputError(spec.place, fmt::format("the confidence is {}.", shortest(spec.confidence)),
                     "Give a share between 0 and 1: 0.90.");
  const std::vector<std::size_t> asked = species_asked(season, options.species);
  Estimates all;
  all.season = season.season;
  all.year = season.year;
  all.returns_version = season.returns_version;
  all.confidence = spec.confidence;
  all.unit = unit_word(season);
  for (const std::size_t s : asked) all.species.push_back(season.species[s]);
  const SeasonParts parts = take_apart(season, spec);
  const RowsOf how{parts, spec.confidence, options.symmetric};
  for (const std::string& note : season.notes) all.notes.push_back({"all sites", {}, note, false});
  add_ground(parts, all);
  std::vector<Estimates> by_species(asked.size());
  in_runs(asked.size(), options.threads, [&](int, std::size_t begin, std::size_t end) {
    Neighbourhoods neighbourhoods(parts);
    for (std::size_t k = begin; k < end; ++k) add_species(how, asked[k], neighbourhoods, by_species[k]);
  });
  for (Estimates& one : by_species) {
    append(all.rows, one.rows);
    append(all.missing, one.missing);
    append(all.not_estimated, one.not_estimated);
    append(all.notes, one.notes);
  }
  return all;
}

}  // namespace swardline
