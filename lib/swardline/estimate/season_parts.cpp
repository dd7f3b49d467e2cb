#include "swardline/estimate/season_parts.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>
#include <unordered_map>

namespace swardline::estimate_parts {
namespace {

StratumUnits ground_of(const EvaluatedSeason& season, const EvaluatedStratum& stratum, bool crossing) {
  StratumUnits units;
  units.of = &stratum;
  units.crossing = crossing;
  const double area = stratum.area_m2 * stratum.geodesic_ratio;
  const double frame = stratum.frame_m2 * stratum.geodesic_ratio;
  units.ground = units.expands = estimated_m2(season, stratum) * stratum.geodesic_ratio;
  if (season.unit == SampleUnit::transect || stratum.kind == "line" || !(frame > 0)) return units;
  if (season.edge == EdgeRule::grown_frame) units.expands = frame;
  if (season.edge == EdgeRule::inner_margin) units.margin = std::max(0.0, area - units.ground);
  return units;
}

/// Strata whose ground has plots planned or estimates at all.
bool spoken_of(const StratumUnits& stratum) { return !stratum.left_out(); }

class Places {
 public:
  explicit Places(SeasonParts& parts) : parts_(parts) {
    for (std::size_t h = 0; h < parts.strata.size(); ++h) {
      const StratumUnits& stratum = parts.strata[h];
      if (!stratum.crossing) own_[stratum.of->site].push_back(std::uint32_t(h));
      if (stratum.crossing && spoken_of(stratum)) {
        crossing_.push_back(std::uint32_t(h));
        // Part of a site may lie in ground that has no plots; then its own ground is not known.
        unknown_ = unknown_ || stratum.evaluated.empty() || stratum.margin > 0;
      }
      unknown_ = unknown_ || (stratum.crossing && stratum.left_out() && stratum.ground > 0);
    }
  }

  void add_all() {
    PlaceOf all{"all sites", -1, {}, 0};
    for (std::size_t h = 0; h < parts_.strata.size(); ++h)
      if (spoken_of(parts_.strata[h])) all.parts.push_back({std::uint32_t(h), -1});
    parts_.places.push_back(std::move(all));
  }

  void add_by(const std::string& attribute) {
    std::map<std::string, std::vector<std::size_t>> values;
    const std::vector<EvaluatedSite>& sites = parts_.season->sites;
    for (std::size_t s = 0; s < sites.size(); ++s) {
      const auto found = sites[s].attributes.find(attribute);
      values[found == sites[s].attributes.end() || found->second.empty() ? "none given" : found->second]
          .push_back(s);
    }
    for (const auto& [value, members] : values) add(fmt::format("{} = {}", attribute, value), members);
  }

  void add_sites() {
    for (std::size_t s = 0; s < parts_.season->sites.size(); ++s) {
      add(parts_.season->sites[s].code, {s});
      const auto own = own_.find(parts_.season->sites[s].code);
      if (own == own_.end()) continue;
      for (const std::uint32_t h : own->second) add_stratum(h);
    }
    for (const std::uint32_t h : crossing_) add_stratum(h);
  }

 private:
  void add(const std::string& where, const std::vector<std::size_t>& members) {
    PlaceOf place{where, -1, {}, 0};
    bool known = !unknown_;
    for (const std::size_t s : members) {
      const EvaluatedSite& site = parts_.season->sites[s];
      const auto own = own_.find(site.code);
      place.known_ground += site.survey_m2 * site.geodesic_ratio;
      if (own == own_.end()) continue;
      for (const std::uint32_t h : own->second) {
        if (spoken_of(parts_.strata[h])) place.parts.push_back({h, -1});
        known = false;  // strata of the site alone and of several sites: only the plots tell
      }
    }
    for (const std::uint32_t h : crossing_)
      for (const std::size_t s : members) place.parts.push_back({h, std::int32_t(s)});
    if (!known) place.known_ground = 0;
    parts_.places.push_back(std::move(place));
  }

  void add_stratum(std::uint32_t h) {
    const StratumUnits& stratum = parts_.strata[h];
    if (!spoken_of(stratum)) return;
    parts_.places.push_back(
        {stratum.crossing ? "all sites" : stratum.of->site, std::int32_t(h), {{h, -1}}, 0});
  }

  SeasonParts& parts_;
  std::map<std::string, std::vector<std::uint32_t>> own_;
  std::vector<std::uint32_t> crossing_;
  bool unknown_ = false;
};

}  // namespace

bool PlaceOf::domain() const {
  return std::any_of(parts.begin(), parts.end(), [](const Part& part) { return part.site >= 0; });
}

SeasonParts take_apart(const EvaluatedSeason& season, const EstimateSpec& spec) {
  SeasonParts parts;
  parts.season = &season;
  std::unordered_map<std::string, std::size_t> site_index, stratum_index;
  for (std::size_t s = 0; s < season.sites.size(); ++s) site_index.emplace(season.sites[s].code, s);
  for (const EvaluatedStratum& stratum : season.strata) {
    stratum_index.emplace(stratum.id, parts.strata.size());
    parts.strata.push_back(ground_of(season, stratum, site_index.count(stratum.site) == 0));
  }
  for (std::size_t i = 0; i < season.units.size(); ++i) {
    const EvaluatedUnit& unit = season.units[i];
    const auto site = site_index.find(unit.site);
    parts.site_of.push_back(site == site_index.end() ? -1 : std::int32_t(site->second));
    const auto stratum = stratum_index.find(unit.stratum);
    if (stratum == stratum_index.end() || !unit.in_use) continue;
    parts.strata[stratum->second].used.push_back(std::uint32_t(i));
    if (unit.evaluated) parts.strata[stratum->second].evaluated.push_back(std::uint32_t(i));
  }
  Places places(parts);
  places.add_all();
  for (const std::string& attribute : spec.by) places.add_by(attribute);
  places.add_sites();
  return parts;
}

const char* unit_word(const EvaluatedSeason& season, bool many) {
  if (season.unit == SampleUnit::transect) return many ? "transects" : "transect";
  return many ? "plots" : "plot";
}

}  // namespace swardline::estimate_parts
