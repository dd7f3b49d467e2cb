// Sites and habitats that a plan names for visits and cautions, held against those there are.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/field/visits.hpp"

namespace swardline {
namespace {

class NamedSiteChecks {
 public:
  NamedSiteChecks(const std::set<std::string>& codes, const std::vector<SiteSpecies>& sites, Flags& flags)
      : codes_(codes.begin(), codes.end()), flags_(flags) {
    std::set<std::string> habitats;
    for (const SiteSpecies& site : sites)
      if (!site.habitat.empty()) habitats.insert(site.habitat);
    habitats_.assign(habitats.begin(), habitats.end());
  }

  void site(const std::string& code, const std::string& where, const Place& place,
            Severity severity = Severity::ask) {
    known(codes_, code, fmt::format("{} names {}, and no site has that code.", where, code), "unknown site",
          place, severity);
  }
  void habitat(const std::string& name, const Place& place) {
    known(habitats_, name, fmt::format("a caution is for the habitat \"{}\", which no site has.", name),
          "unknown habitat", place);
  }
  [[nodiscard]] bool has_habitats() const { return !habitats_.empty(); }

 private:
  void known(const std::vector<std::string>& there, const std::string& name, const std::string& meaning,
             const char* check, const Place& place, Severity severity = Severity::ask) {
    if (std::find(there.begin(), there.end(), name) != there.end()) return;
    const std::string nearest = nearest_word(name, there);
    flags_.add(severity, check, place, meaning,
               nearest.empty() ? fmt::format("There are {}.", some_of(there, 12))
                               : fmt::format("Did you mean {}?", nearest));
  }

  std::vector<std::string> codes_, habitats_;
  Flags& flags_;
};

}  // namespace

void check_named_sites(const Plan& plan, const std::set<std::string>& codes,
                       const std::vector<SiteSpecies>& sites, Flags& flags) {
  if (!plan.sites.only.empty() || codes.empty()) return;
  NamedSiteChecks checks(codes, sites, flags);
  for (const auto& [team, of_team] : plan.teams)
    for (const std::string& code : of_team) checks.site(code, "team " + team, plan.teams_place);
  // Where nobody may go must not hang on a slip of the pen.
  for (const ClosureSpec& closure : plan.visits.closures)
    for (const std::string& code : closure.sites)
      checks.site(code, "a closure", closure.place, Severity::stop);
  for (const auto& [code, permission] : plan.visits.permission)
    checks.site(code, "[visits.permission]", permission.place, Severity::stop);
  const bool habitats_known = checks.has_habitats();
  bool asked = false;
  for (const CautionSpec& caution : plan.cautions) {
    for (const std::string& code : caution.sites) checks.site(code, "a caution", caution.place);
    if (habitats_known) {
      for (const std::string& name : caution.habitats) checks.habitat(name, caution.place);
    } else if (!caution.habitats.empty() && !asked) {
      asked = true;
      flags.add(Severity::ask, "habitats not known", caution.place,
                "cautions go by habitat, and no habitat of any site is known: they are on no sheet.",
                "Write [packet] habitat = the attribute of sites that holds it.");
    }
  }
}

}  // namespace swardline
