// Strata made from the scores as they are now: one head's kinds of ground, small ones joined.
#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/design/strata_inside.hpp"
#include "swardline/habitat/score_season.hpp"

namespace swardline::strata_parts {
namespace {

using Inside = SeasonStrata::Inside;

/// One stratum in the making: the kinds of ground in it, the first of which names it.
struct Group {
  Group(GroundCode code, std::int64_t area) : codes{code}, own_mm2(area), mm2(area) {}
  std::vector<GroundCode> codes;
  std::int64_t own_mm2;  ///< before anything joined it
  std::int64_t mm2;
  std::vector<std::pair<GroundCode, std::int64_t>> joined;
};

std::size_t larger_neighbour(const std::vector<Group>& groups, std::size_t i) {
  if (i == 0) return 1;
  if (i + 1 == groups.size()) return i - 1;
  return groups[i + 1].mm2 > groups[i - 1].mm2 ? i + 1 : i - 1;
}

/// Strata under the smallest join a neighbouring band, the smallest first. `groups` are the bands
/// of one site and class, rising.
void join_small(std::vector<Group>& groups, double smallest_m2) {
  const auto smaller = [](const Group& a, const Group& b) { return a.mm2 < b.mm2; };
  while (groups.size() > 1) {
    const auto least = std::min_element(groups.begin(), groups.end(), smaller);
    if (double(least->mm2) * 1e-6 >= smallest_m2) return;
    Group& into = groups[larger_neighbour(groups, std::size_t(least - groups.begin()))];
    into.joined.insert(into.joined.end(), least->joined.begin(), least->joined.end());
    into.joined.emplace_back(least->codes.front(), least->own_mm2);
    into.codes.insert(into.codes.end(), least->codes.begin(), least->codes.end());
    into.mm2 += least->mm2;
    groups.erase(least);
  }
}

/// The band with a hyphen, as people type it in the plan.
std::string spread_band(const StrataRule& rule, GroundCode code) {
  if (!rule.by_score || code < ground_first_scored) return {};
  const std::string text = band_text(rule.bands, rule.band_of_ground(code));
  const std::string_view dash = "–";
  const auto at = text.find(dash);
  if (at == std::string::npos) return text;
  return fmt::format("{}-{}", text.substr(0, at), text.substr(at + dash.size()));
}

/// All strata of one head (a site, or all sites with the same attributes).
class HeadStrata {
 public:
  HeadStrata(Inside& inside, const Site& site, const StrataSpec& spec, std::size_t head)
      : inside_(inside), site_(site), spec_(spec), head_(head) {}

  void make(const std::map<GroundCode, std::int64_t>& areas, Flags& flags) {
    std::map<GroundCode, std::vector<Group>> by_class;
    for (const auto& [code, mm2] : areas) {
      if (code < ground_first_scored) {
        add(Group(code, mm2), code == ground_excluded ? StratumKind::excluded : StratumKind::no_score, flags);
      } else {
        by_class[code - inside_.rule.band_of_ground(code)].emplace_back(code, mm2);
      }
    }
    for (auto& [first, groups] : by_class) {
      join_small(groups, spec_.smallest_m2);
      for (const Group& group : groups) add(group, StratumKind::scored, flags);
    }
  }

 private:
  void add(const Group& group, StratumKind kind, Flags& flags) {
    const StrataRule& rule = inside_.rule;
    Stratum stratum;
    stratum.id = rule.id(site_, group.codes.front());
    stratum.site = rule.by_site ? site_.code : "all";
    stratum.rule = rule.words(site_, group.codes.front());
    stratum.kind = kind;
    stratum.version = rule.version;
    stratum.area_mm2 = group.mm2;
    std::vector<std::string> joined;
    for (const auto& [code, mm2] : group.joined) {
      joined.push_back(fmt::format("{} ({:.0f} m²)", rule.words(site_, code), double(mm2) * 1e-6));
    }
    stratum.joined = in_words(joined);
    if (!joined.empty()) {
      flags.add(
          Severity::note, "small strata joined", spec_.place,
          fmt::format("{}: {} under {:.0f} m² joined to it.", stratum.id, stratum.joined, spec_.smallest_m2));
    }
    for (const GroundCode code : group.codes) inside_.stratum_of[head_][code] = int(inside_.strata.size());
    inside_.bands.push_back(spread_band(rule, group.codes.front()));
    inside_.head_of.push_back(head_);
    inside_.strata.push_back(std::move(stratum));
  }

  Inside& inside_;
  const Site& site_;
  const StrataSpec& spec_;
  std::size_t head_;
};

}  // namespace

void add_made(Inside& inside, std::size_t head, const Site& site, const StrataSpec& spec,
              const std::map<GroundCode, std::int64_t>& areas, Flags& flags) {
  HeadStrata(inside, site, spec, head).make(areas, flags);
}

}  // namespace swardline::strata_parts
