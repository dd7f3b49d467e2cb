// What can be judged of a rule by itself: groups, the combination, parts without effect.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <set>

#include "swardline/base/text.hpp"
#include "swardline/season/readers.hpp"

namespace swardline {
namespace {

/// The factors and groups that stand directly in one group (or at the top).
struct Members {
  int limiting = 0;
  int modifying = 0;
  [[nodiscard]] int all() const { return limiting + modifying; }
  void count(Role role) { ++(role == Role::limiting ? limiting : modifying); }
};

Members members_of(const Sheet& sheet, const std::string& group) {
  Members members;
  for (const Factor& factor : sheet.factors) {
    if (factor.group == group) members.count(factor.role);
  }
  for (const Group& other : sheet.groups) {
    if (other.within == group) members.count(other.role);
  }
  return members;
}

void check_group_name(const std::string& name, const std::vector<std::string>& known, const Place& place,
                      const std::string& about, Flags& flags) {
  if (name.empty() || std::find(known.begin(), known.end(), name) != known.end()) return;
  const std::string nearest = nearest_word(name, known);
  flags.add(Severity::stop, "unknown group", place, fmt::format("{}there is no group '{}'.", about, name),
            nearest.empty() ? "Add a [[group]] of this name, or take it out."
                            : fmt::format("Did you mean {}?", nearest));
}

void check_groups(const Sheet& sheet, Flags& flags) {
  std::vector<std::string> known;
  std::map<std::string, std::string> within;
  for (const Group& group : sheet.groups) {
    if (!within.emplace(group.name, group.within).second) {
      flags.add(Severity::stop, "duplicate group", group.place,
                fmt::format("{}: two groups are named {}.", sheet.code, group.name), "Rename one.");
    }
    known.push_back(group.name);
  }
  for (const Factor& factor : sheet.factors) {
    check_group_name(factor.group, known, factor.place, fmt::format("{} {}: ", sheet.code, factor.layer),
                     flags);
  }
  for (const Group& group : sheet.groups) {
    check_group_name(group.within, known, group.place, fmt::format("{} group {}: ", sheet.code, group.name),
                     flags);
    // Walking up from a group must reach the top in as many steps as there are groups.
    std::string up = group.within;
    for (std::size_t step = 0; !up.empty() && up != group.name && step < known.size(); ++step) {
      const auto at = within.find(up);
      up = at == within.end() ? std::string{} : at->second;
    }
    if (up == group.name) {
      flags.add(Severity::stop, "groups in a circle", group.place,
                fmt::format("{}: group {} lies within itself.", sheet.code, group.name),
                "Take out one 'within', so that the outermost group stands at the top.");
    }
    if (members_of(sheet, group.name).all() == 0) {
      flags.add(Severity::stop, "empty rule", group.place,
                fmt::format("{}: group {} holds no factor.", sheet.code, group.name),
                fmt::format("Write group = \"{}\" in a factor, or take the group out.", group.name));
    }
  }
}

void check_combination(const Sheet& sheet, const Combine& combine, const std::string& group,
                       const Place& place, Flags& flags) {
  const Members members = members_of(sheet, group);
  const std::string about =
      group.empty() ? fmt::format("{}: ", sheet.code) : fmt::format("{} group {}: ", sheet.code, group);
  if (combine.rule == Rule::graded && members.all() > 0 && members.limiting == 0) {
    flags.add(Severity::stop, "nothing limits", place,
              about + "rule = \"graded\" needs a limiting factor, and all are modifying.",
              "Write role = \"limiting\" where it is meant, or choose rule = \"geometric\".");
  }
  if (combine.floor && members.all() > 0 && members.modifying == 0) {
    flags.add(Severity::note, "key without effect", place,
              about + "floor has no effect: no factor is modifying.", "Take it out.");
  }
}

const Combine* combine_of(const Sheet& sheet, const std::string& group) {
  if (group.empty()) return &sheet.combine;
  const auto at =
      std::find_if(sheet.groups.begin(), sheet.groups.end(), [&](const Group& g) { return g.name == group; });
  return at == sheet.groups.end() ? nullptr : &at->combine;
}

/// Limiting factors under `graded`, and all factors under `lowest`, take part with their lowest value.
void check_weight(const Sheet& sheet, const std::string& what, double weight, Role role,
                  const std::string& group, const Place& place, Flags& flags) {
  if (weight == 1) return;
  const Combine* combine = combine_of(sheet, group);
  if (!combine) return;
  const bool unused =
      combine->rule == Rule::lowest || (combine->rule == Rule::graded && role == Role::limiting);
  if (!unused) return;
  flags.add(Severity::note, "weight without effect", place,
            fmt::format("{} {}: weight {} has no effect where the lowest counts.", sheet.code, what,
                        shortest(weight)),
            "Take it out.");
}

}  // namespace

void check_rule(const Sheet& sheet, Flags& flags) {
  check_groups(sheet, flags);
  check_combination(sheet, sheet.combine, "", sheet.place, flags);
  for (const Group& group : sheet.groups) {
    check_combination(sheet, group.combine, group.name, group.place, flags);
    check_weight(sheet, "group " + group.name, group.weight, group.role, group.within, group.place, flags);
  }
  std::set<std::string> seen;
  for (const Factor& factor : sheet.factors) {
    check_weight(sheet, factor.layer, factor.weight, factor.role, factor.group, factor.place, flags);
    if (seen.insert(factor.layer).second) continue;
    flags.add(Severity::ask, "layer twice", factor.place,
              fmt::format("{}: {} is in the rule twice.", sheet.code, factor.layer),
              "If that is not meant, take one out.");
  }
}

}  // namespace swardline
