// What can hurt somebody at a site, and what must not be hurt there.
#pragma once

#include <string>
#include <vector>

#include "swardline/field/site_species.hpp"
#include "swardline/field/visits.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

struct Caution {
  std::string text;
  bool closure = false;  ///< a dated closure: comes first
  bool here = false;     ///< of this site, habitat or date; the others hold everywhere
  bool stop = false;     ///< ends the visit, or does not let it begin
};

/// What the sheet of a visit says, in the order it is said: what ends a visit; closures that meet the visit
/// and what is known of permission; then the plan's cautions for this site, habitat, ground and date; then
/// what common practice says everywhere, less what the plan says better: of thunder where what is said here
/// speaks of it, of rising water where anything in the plan does, for then it knows which sites flood. The
/// texts of this library have 90 characters at most; the last defers to landowners, local rules and licensed
/// practice. Lightning: leave open ground when thunder is heard, wait 30 minutes
/// after the last thunder (lightning safety of the US National Weather Service, from memory); the others are
/// common practice. None of it is complete: whoever plans the visit knows the place.
[[nodiscard]] std::vector<Caution> cautions_for(const Season& season, const SiteSpecies& site,
                                                const Visit& visit, int year);

/// "yes, 1 May–30 Jun; call the evening before", "asked, no answer yet: do not enter", "no: do not enter".
/// Days are those of the year of the visit, or of `year` where it has none.
[[nodiscard]] std::string permission_words(const Plan& plan, const std::string& site, const Visit& visit,
                                           int year);

}  // namespace swardline
