#include "swardline/field/names.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <numeric>
#include <optional>
#include <tuple>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

// Letters that lead a number: I and O read as digits, Z opens the long form.
constexpr std::string_view lead_letters = "ABCDEFGHJKLMNPQRSTUVWXY";
constexpr std::string_view ordinals = "123456789ABCDEFGHJKLMNPQRSTUVWXYZ";
constexpr int first_spare = 51;

}  // namespace

std::string name_number(int n) {
  if (n < 1) throw Defect(fmt::format("plot number {} is not a number for a name", n));
  if (n <= 99) return fmt::format("{:02d}", n);
  const int beyond = n - 100;
  const int short_forms = int(lead_letters.size()) * 10;
  if (beyond < short_forms) return fmt::format("{}{}", lead_letters[std::size_t(beyond / 10)], beyond % 10);
  const int rest = beyond - short_forms;
  if (rest > 999)
    throw InputError({},
                     fmt::format("a site would need plot number {}, names end at {}", n, 1099 + short_forms),
                     "Draw fewer plots there or split the site.");
  return fmt::format("Z{:03d}", rest);
}

std::string plot_name(std::string_view site, int n) {
  const std::string body = name_stem(site) + name_number(n);
  return body + check_letter(body);
}

std::vector<std::string> name_plots(const std::vector<NameRequest>& requests,
                                    const std::set<std::string>& taken) {
  std::vector<std::size_t> turn(requests.size());
  std::iota(turn.begin(), turn.end(), std::size_t{0});
  std::sort(turn.begin(), turn.end(), [&](std::size_t a, std::size_t b) {
    const auto key = [&](std::size_t i) {
      const NameRequest& r = requests[i];
      return std::tie(r.site, r.spare, r.order, r.stratum);
    };
    return key(a) < key(b);
  });

  std::vector<std::string> codes;
  for (const std::size_t i : turn)
    if (codes.empty() || codes.back() != requests[i].site) codes.push_back(requests[i].site);
  if (const std::optional<CodeProblem> problem = problem_of_codes(codes))
    throw InputError({}, problem->meaning, problem->remedy);

  std::vector<std::string> names(requests.size());
  std::string site;
  bool spares = false;
  int next = 1;
  for (const std::size_t i : turn) {
    const NameRequest& request = requests[i];
    if (request.site != site || i == turn.front()) {
      site = request.site;
      next = 1;
      spares = false;
    }
    if (request.spare && !spares) {
      spares = true;
      next = std::max(first_spare, next);
    }
    std::string name = plot_name(site, next++);
    while (taken.count(name) != 0) name = plot_name(site, next++);
    names[i] = std::move(name);
  }
  // "AB" with its plot Z001 and "ABZ0" with its plot 01 read the same.
  std::map<std::string, std::string> site_of;
  for (const std::size_t i : turn)
    if (const auto [same, added] = site_of.emplace(names[i], requests[i].site); !added)
      throw InputError(
          {},
          fmt::format("sites {} and {} would both have a plot {}", same->second, requests[i].site, names[i]),
          "Give one of them a code with other letters or digits.");
  return names;
}

namespace {

// Site stems cut to `length`, unique, in the same order as the stems. Where a cut alone is not
// enough, the last one or two characters become a running number within the group that shares
// what is left.
std::map<std::string, std::string> cut_stems(const std::set<std::string>& stems, std::size_t length) {
  std::map<std::string, std::string> cut;
  for (std::size_t given_up = 0; given_up <= std::min<std::size_t>(2, length); ++given_up) {
    cut.clear();
    std::set<std::string> used;
    std::map<std::string, std::vector<std::string>> groups;
    for (const std::string& stem : stems)
      groups[stem.size() <= length && given_up > 0 ? stem : stem.substr(0, length - given_up)].push_back(
          stem);
    bool fits = true;
    for (const auto& [kept, members] : groups) {
      for (std::size_t i = 0; i < members.size(); ++i) {
        std::string name = kept;
        if (members[i].size() > length || members.size() > 1) {
          std::size_t number = i;
          std::string tail;
          for (std::size_t k = 0; k < given_up; ++k) {
            tail.insert(tail.begin(), ordinals[number % ordinals.size()]);
            number /= ordinals.size();
          }
          fits = fits && number == 0;
          name += tail;
        }
        fits = fits && used.insert(name).second;
        cut[members[i]] = name;
      }
    }
    if (fits) return cut;
  }
  return {};
}

}  // namespace

std::map<std::string, std::string> fit_names(const std::vector<SiteName>& names, const std::string& profile,
                                             std::size_t room) {
  std::map<std::string, std::string> fitted;
  if (profile == "free") {
    for (const SiteName& n : names) fitted[n.name] = n.name;
    return fitted;
  }
  const std::size_t whole = profile == "6" ? 6 : profile == "8" ? 8 : profile == "10" ? 10 : 0;
  if (whole == 0)
    throw InputError({}, fmt::format("name profile '{}' is not known", profile), "Use 6, 8, 10 or free.");
  const std::size_t limit = whole - std::min(room, whole - 1);
  std::set<std::string> stems;
  std::size_t longest_tail = 0;
  std::size_t longest = 0;
  for (const SiteName& n : names) {
    const std::string stem = name_stem(n.site);
    stems.insert(stem);
    longest = std::max(longest, n.name.size());
    longest_tail = std::max(longest_tail, n.name.size() - stem.size());
  }
  const std::map<std::string, std::string> cut = longest <= limit ? std::map<std::string, std::string>{}
                                                 : longest_tail < limit
                                                     ? cut_stems(stems, limit - longest_tail)
                                                     : std::map<std::string, std::string>{};
  if (longest > limit && cut.empty())
    throw InputError({},
                     fmt::format("{} names of up to {} characters cannot be told apart in {}", names.size(),
                                 longest, limit),
                     "Give the sites shorter codes, or use a longer name profile.");
  std::map<std::string, std::string> used;
  for (const SiteName& n : names) {
    std::string on_unit = n.name;
    if (!cut.empty()) {
      const std::string stem = name_stem(n.site);
      const std::string body = cut.at(stem) + n.name.substr(stem.size(), n.name.size() - stem.size() - 1);
      on_unit = body + check_letter(body);  // of the name as people read it off the unit
    }
    const auto [same, added] = used.emplace(on_unit, n.name);
    if (!added)
      throw InputError({},
                       fmt::format("plots {} and {} are both {} on the unit", same->second, n.name, on_unit),
                       "Give the sites codes that differ more, or use a longer name profile.");
    fitted[n.name] = on_unit;
  }
  return fitted;
}

}  // namespace swardline
