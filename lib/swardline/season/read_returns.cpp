#include "swardline/season/read_returns.hpp"

#include <fmt/format.h>

#include <map>

namespace swardline {
namespace {

std::filesystem::path resolved(const Plan& plan, const std::string& name) {
  const std::filesystem::path file(name);
  return file.is_absolute() ? file : plan.folder / file;
}

void take_path(const TomlTable& at, const char* key, const Plan& plan, std::filesystem::path& place) {
  if (const auto name = at.text(key)) place = resolved(plan, *name);
}

/// Lists of codes under names the user chose.
std::map<std::string, std::vector<std::string>> lists(const TomlTable& at) {
  std::map<std::string, std::vector<std::string>> lists;
  at.each(
      [&](const std::string& name, const toml::node& node) { take(at.texts_of(name, node), lists[name]); });
  return lists;
}

void read_columns(const TomlTable& at, ReturnsSpec& returns) {
  std::map<std::string, std::string> heading_of;
  at.each([&](const std::string& heading, const toml::node& node) {
    const auto column = at.text_of(heading, node);
    if (!column) return;
    const auto [other, fresh] = heading_of.emplace(*column, heading);
    if (!fresh)
      at.stop(at.place_of(node), "column twice",
              fmt::format("\"{}\" and \"{}\" are both said to be the column {}.", other->second, heading,
                          *column),
              "Name the heading that holds it.");
    returns.columns[heading] = *column;
  });
}

}  // namespace

void read_returns(const TomlTable& at, Plan& plan) {
  ReturnsSpec& returns = plan.returns;
  returns.place = at.place();
  take_path(at, "folder", plan, returns.folder);
  take_path(at, "observers", plan, returns.observers);
  take_path(at, "tests", plan, returns.tests);
  take_path(at, "photos", plan, returns.photos);
  if (const auto stores = at.texts("earlier"))
    for (const std::string& store : *stores) returns.earlier.push_back(resolved(plan, store));
  if (const auto order = at.choice("dates", {"day first", "month first"})) returns.day_first = *order == 0;
  take(at.number("search_from", {0, 1}), returns.search_from);
  take(at.number("far_m", zero_up), returns.far_m);
  take(at.whole("close_days", 0, 366), returns.close_days);
  take(at.whole("shift_days", -60, 60), returns.shift_days);
  if (const auto columns = at.table("columns")) read_columns(*columns, returns);
  if (const auto search = at.table("search")) returns.search = lists(*search);
  if (const auto most = at.table("most"))
    most->each([&](const std::string& of, const toml::node& node) {
      take(most->whole_of(of, node, 1, 1000000000), returns.most[of]);
    });
}

void read_teams(const TomlTable& at, Plan& plan) {
  plan.teams_place = at.place();
  plan.teams = lists(at);
  std::map<std::string, std::string> team_of;
  for (const auto& [team, sites] : plan.teams)
    for (const std::string& site : sites)
      if (const auto [other, fresh] = team_of.emplace(site, team); !fresh)
        at.stop(at.place(), "two teams", fmt::format("{} and {} both go to {}.", other->second, team, site),
                "Give each site one team; a site that two teams share is a team of its own.");
}

void read_estimate(const TomlTable& at, Plan& plan) {
  plan.estimate.place = at.place();
  take(at.number("confidence", share), plan.estimate.confidence);
  take(at.texts("by"), plan.estimate.by);
  take(at.number("moved_m", zero_up), plan.estimate.moved_m);
}

}  // namespace swardline
