// Ground by what became of its plots.
#include <fmt/format.h>

#include <map>

#include "swardline/base/text.hpp"
#include "swardline/estimate/season_parts.hpp"

namespace swardline::estimate_parts {
namespace {

constexpr double much = 1.0 / 3;  // of a place's ground: a headline

struct Amount {
  double m2 = 0;
  int plots = 0;
};

/// Amounts by reason, of units of a part that were not counted.
using Reasons = std::map<std::string, Amount>;

void add_part(const SeasonParts& parts, const Part& part, Reasons& reasons, double& ground) {
  const StratumUnits& stratum = parts.strata[part.stratum];
  if (stratum.evaluated.empty()) return;
  const double each = stratum.ground / double(stratum.used.size());
  for (const std::uint32_t i : stratum.used) {
    if (part.site >= 0 && parts.site_of[i] != part.site) continue;
    ground += each;
    const EvaluatedUnit& unit = parts.season->units[i];
    if (unit.evaluated) continue;
    Amount& amount = reasons[unit.fate.empty() ? "no return" : unit.fate];
    amount.m2 += each;
    ++amount.plots;
  }
}

void add_missing(const SeasonParts& parts, const PlaceOf& place, Estimates& into) {
  Reasons reasons;
  double ground = 0, missing = 0;
  for (const Part& part : place.parts) add_part(parts, part, reasons, ground);
  std::vector<std::string> words;
  for (const auto& [reason, amount] : reasons) {
    missing += amount.m2;
    into.missing.push_back({place.where, {}, reason, amount.m2, amount.m2 / ground, amount.plots});
    words.push_back(fmt::format("{}: {} {}, {}", reason, amount.plots,
                                unit_word(*parts.season, amount.plots != 1), hectares(amount.m2)));
  }
  if (!(missing > much * ground)) return;
  into.notes.push_back(
      {place.where,
       {},
       fmt::format("{:.0f} % of the ground could not be counted ({}): estimates speak of the "
                   "accessible land, and totals take the rest to be like it",
                   100 * missing / ground, fmt::join(words, "; ")),
       true});
}

/// A stratum without counts, and what became of its plots.
NotEstimated none_counted(const SeasonParts& parts, const StratumUnits& stratum, const std::string& where) {
  NotEstimated none{where, stratum.of->id, {}, "no plot is planned there", stratum.ground};
  std::map<std::string, int>& fates = none.fates;
  for (const std::uint32_t i : stratum.used) {
    const std::string& fate = parts.season->units[i].fate;
    ++fates[fate.empty() ? "no return" : fate];
  }
  if (!fates.empty()) none.reason = none_counted_in_words(fates);
  return none;
}

}  // namespace

std::string none_counted_in_words(const std::map<std::string, int>& fates) {
  std::vector<std::string> words;
  for (const auto& [fate, plots] : fates) words.push_back(fmt::format("{}: {}", fate, plots));
  return fmt::format("no plot counted ({})", fmt::join(words, ", "));
}

void add_ground(const SeasonParts& parts, Estimates& into) {
  for (const PlaceOf& place : parts.places)
    if (place.stratum < 0) add_missing(parts, place, into);
  for (const StratumUnits& stratum : parts.strata) {
    const std::string where = stratum.crossing ? "all sites" : stratum.of->site;
    if (stratum.left_out()) {
      if (stratum.ground > 0)
        into.not_estimated.push_back(
            {where, stratum.of->id, {}, "excluded for every scored species", stratum.ground});
      continue;
    }
    if (stratum.evaluated.empty()) into.not_estimated.push_back(none_counted(parts, stratum, where));
    if (stratum.margin > 0)
      into.not_estimated.push_back(
          {where, stratum.of->id, {}, "in the margin, where no pin may fall", stratum.margin});
  }
}

void add_ground_of_species(const SeasonParts& parts, std::size_t species,
                           const std::vector<StratumSample>& samples, Estimates& into) {
  const std::string& code = parts.season->species[species];
  // A site where nobody looked for it has it on no form.
  std::map<std::int32_t, bool> searched;
  for (std::size_t h = 0; h < samples.size(); ++h)
    for (const std::uint32_t unit : samples[h].units) searched[parts.site_of[unit]] = true;
  for (std::size_t h = 0; h < samples.size(); ++h) {
    const StratumUnits& stratum = parts.strata[h];
    if (stratum.left_out() || stratum.evaluated.empty() || samples[h].n() == stratum.evaluated.size())
      continue;
    Reasons reasons;
    const double each = stratum.ground / double(stratum.used.size());
    std::size_t next = 0;
    for (const std::uint32_t unit : stratum.evaluated) {
      if (next < samples[h].n() && samples[h].units[next] == unit) {
        ++next;
        continue;
      }
      Amount& amount =
          reasons[searched[parts.site_of[unit]] ? "rows missing or kept out" : "not searched for"];
      amount.m2 += each;
      ++amount.plots;
    }
    for (const auto& [reason, amount] : reasons) {
      const std::string where = stratum.crossing ? "all sites" : stratum.of->site;
      if (samples[h].n() == 0)
        into.not_estimated.push_back({where, stratum.of->id, code, reason, stratum.ground});
      else
        into.missing.push_back({where, code, reason, amount.m2, amount.m2 / stratum.ground, amount.plots});
    }
  }
}

}  // namespace swardline::estimate_parts
