#include "swardline/compare/proposal.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <vector>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {
namespace {

/// The sheet's only factor that reads this layer.
Factor& factor_on(Sheet& sheet, const std::string& layer) {
  const auto on_it = [&layer](const Factor& factor) { return factor.layer == layer; };
  const auto first = std::find_if(sheet.factors.begin(), sheet.factors.end(), on_it);
  if (first == sheet.factors.end()) {
    std::vector<std::string> names;
    for (const Factor& factor : sheet.factors) names.push_back(factor.layer);
    throw InputError({}, fmt::format("{} has no factor '{}'", sheet.code, layer),
                     names.empty() ? "It is not scored." : "Its factors are " + in_words(names) + ".");
  }
  if (std::find_if(first + 1, sheet.factors.end(), on_it) != sheet.factors.end())
    throw InputError({}, fmt::format("{} has more than one factor '{}'", sheet.code, layer),
                     "Write a changed sheet and give it with --with.");
  return *first;
}

std::string corners_text(const Trapezoid& t) {
  return fmt::format("{} {} {} {}", shortest(t.a), shortest(t.b), shortest(t.c), shortest(t.d));
}

std::string score_text(const ClassTable& table, const std::string& code) {
  if (table.excluded.contains(code)) return "excluded";
  if (const auto found = table.scores.find(code); found != table.scores.end()) return shortest(found->second);
  return table.otherwise ? shortest(*table.otherwise) : "not listed";
}

void add_table_changes(const std::string& layer, const ClassTable& now, const ClassTable& then,
                       std::vector<std::string>& changes) {
  std::set<std::string> codes = now.excluded;
  codes.insert(then.excluded.begin(), then.excluded.end());
  for (const auto& [code, score] : now.scores) codes.insert(code);
  for (const auto& [code, score] : then.scores) codes.insert(code);
  for (const std::string& code : codes)
    if (score_text(now, code) != score_text(then, code))
      changes.push_back(
          fmt::format("{} {} {} to {}", layer, code, score_text(now, code), score_text(then, code)));
  if (now.otherwise != then.otherwise)
    changes.push_back(
        fmt::format("{} of other classes {} to {}", layer, score_text(now, {}), score_text(then, {})));
}

std::string response_text(const Response& response) {
  if (const auto* t = std::get_if<Trapezoid>(&response)) return corners_text(*t);
  if (const auto* line = std::get_if<Polyline>(&response)) {
    std::string text;
    for (const auto& [value, share] : line->points)
      text += fmt::format("{}{}:{}", text.empty() ? "" : " ", shortest(value), shortest(share));
    return text;
  }
  return "classes";
}

void add_factor_changes(const Factor& now, const Factor& then, std::vector<std::string>& changes) {
  const auto* table_now = std::get_if<ClassTable>(&now.response);
  const auto* table_then = std::get_if<ClassTable>(&then.response);
  if (table_now != nullptr && table_then != nullptr) {
    add_table_changes(now.layer, *table_now, *table_then, changes);
  } else if (const std::string a = response_text(now.response), b = response_text(then.response); a != b) {
    changes.push_back(fmt::format("{} {} to {}", now.layer, a, b));
  }
  if (now.weight != then.weight)
    changes.push_back(
        fmt::format("weight of {} {} to {}", now.layer, shortest(now.weight), shortest(then.weight)));
  if (now.role != then.role)
    changes.push_back(
        fmt::format("{} becomes {}", now.layer, then.role == Role::limiting ? "limiting" : "modifying"));
  if (now.group != then.group)
    changes.push_back(fmt::format("{} moves {}", now.layer,
                                  then.group.empty() ? "out of its group" : "into " + then.group));
}

bool same(const Combine& a, const Combine& b) {
  return a.rule == b.rule && a.limiting_power == b.limiting_power && a.floor == b.floor;
}

bool same(const Group& a, const Group& b) {
  return a.name == b.name && a.within == b.within && a.role == b.role && a.weight == b.weight &&
         same(a.combine, b.combine);
}

std::string limits_of(const Mask& mask) {
  std::string text;
  if (mask.keep_above) text += " above " + shortest(*mask.keep_above);
  if (mask.keep_below) text += " below " + shortest(*mask.keep_below);
  return text;
}

void add_mask_changes(const Sheet& now, const Sheet& then, std::vector<std::string>& changes) {
  const auto missing = [](const Sheet& from, const Sheet& in, const char* says,
                          std::vector<std::string>& out) {
    for (const Mask& mask : from.masks)
      if (std::none_of(in.masks.begin(), in.masks.end(), [&mask](const Mask& other) {
            return other.layer == mask.layer && limits_of(other) == limits_of(mask);
          }))
        out.push_back(fmt::format("{} {}{}", says, mask.layer, limits_of(mask)));
  };
  missing(now, then, "no longer only", changes);
  missing(then, now, "only", changes);
}

}  // namespace

Sheet with_class_score(const Sheet& sheet, const std::string& layer, const std::string& class_code,
                       double score) {
  if (!(score >= 0 && score <= 1))
    throw InputError({}, fmt::format("a class scores from 0 to 1, not {}", shortest(score)),
                     "Give for example 0.8.");
  Sheet changed = sheet;
  Factor& factor = factor_on(changed, layer);
  auto* table = std::get_if<ClassTable>(&factor.response);
  if (table == nullptr)
    throw InputError({}, fmt::format("{} of {} is a measure, it has no classes", layer, sheet.code),
                     "Give its corners with --set-corners.");
  table->excluded.erase(class_code);
  table->scores[class_code] = score;
  return changed;
}

Sheet with_corners(const Sheet& sheet, const std::string& layer, const std::array<double, 4>& corners) {
  Sheet changed = sheet;
  Factor& factor = factor_on(changed, layer);
  auto* trapezoid = std::get_if<Trapezoid>(&factor.response);
  if (trapezoid == nullptr)
    throw InputError({}, fmt::format("{} of {} has no corners", layer, sheet.code),
                     "Write a changed sheet and give it with --with.");
  if (std::any_of(corners.begin(), corners.end(), [](double c) { return std::isnan(c); }) ||
      !std::is_sorted(corners.begin(), corners.end()))
    throw InputError({}, fmt::format("{} {}: corners must rise", sheet.code, layer),
                     "Give four numbers from low to high; -inf and inf are open shoulders.");
  *trapezoid = {corners[0], corners[1], corners[2], corners[3]};
  return changed;
}

std::string changes_in_words(const Sheet& now, const Sheet& then) {
  std::vector<std::string> changes;
  std::vector<bool> matched(then.factors.size(), false);
  for (const Factor& factor : now.factors) {
    std::size_t other = 0;
    while (other < then.factors.size() && (matched[other] || then.factors[other].layer != factor.layer))
      ++other;
    if (other == then.factors.size()) {
      changes.push_back("without " + factor.layer);
      continue;
    }
    matched[other] = true;
    add_factor_changes(factor, then.factors[other], changes);
  }
  for (std::size_t i = 0; i < matched.size(); ++i)
    if (!matched[i]) changes.push_back("with " + then.factors[i].layer);
  add_mask_changes(now, then, changes);
  if (!same(now.combine, then.combine)) changes.emplace_back("factors combine in another way");
  if (now.groups.size() != then.groups.size() ||
      !std::equal(now.groups.begin(), now.groups.end(), then.groups.begin(),
                  [](const Group& a, const Group& b) { return same(a, b); }))
    changes.emplace_back("groups differ");
  std::string text;
  for (const std::string& change : changes) text += (text.empty() ? "" : "; ") + change;
  return text;
}

}  // namespace swardline
