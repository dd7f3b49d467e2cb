#include "swardline/habitat/rule_tree.hpp"

#include <algorithm>
#include <cmath>
#include <map>

#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"

namespace swardline {

bool must_have(const Factor& factor) {
  return factor.role == Role::limiting || std::holds_alternative<ClassTable>(factor.response);
}

std::string exclusion_reason(const Factor& factor, const std::string& class_code) {
  return factor.layer + " " + class_code;
}

std::string exclusion_reason(const Mask& mask) {
  if (!mask.reason.empty()) return mask.reason + " (" + mask.layer + ")";
  if (mask.keep_above && mask.keep_below)
    return mask.layer + " not between " + shortest(*mask.keep_above) + " and " + shortest(*mask.keep_below);
  if (mask.keep_below) return mask.layer + " at or above " + shortest(*mask.keep_below);
  return mask.layer + " at or below " + (mask.keep_above ? shortest(*mask.keep_above) : "its limit");
}

bool masked_out(const Mask& mask, double value) {
  return (mask.keep_below && !(value < *mask.keep_below)) || (mask.keep_above && !(value > *mask.keep_above));
}

RuleTree::RuleTree(const Sheet& sheet) {
  std::map<std::string, std::size_t> node_of{{"", 0}};
  nodes_.push_back({sheet.combine, {}, 0});
  for (const Group& group : sheet.groups) {
    node_of.emplace(group.name, nodes_.size());
    nodes_.push_back({group.combine, {}, 0});
  }
  const auto find = [&](const std::string& name) {
    const auto found = node_of.find(name);
    if (found == node_of.end())
      throw Defect(sheet.code + ": a factor is in the group '" + name + "', which is not there.");
    return found->second;
  };
  for (std::size_t f = 0; f < sheet.factors.size(); ++f) {
    const Factor& factor = sheet.factors[f];
    nodes_[find(factor.group)].items.push_back(
        {false, int(f), int(f), factor.role == Role::limiting, factor.weight});
  }
  for (std::size_t g = 0; g < sheet.groups.size(); ++g) {
    const Group& group = sheet.groups[g];
    nodes_[find(group.within)].items.push_back(
        {true, int(g + 1), 0, group.role == Role::limiting, group.weight});
  }
  std::size_t reached = 0;
  order_items(0, 0);
  for (Node& node : nodes_) {
    node.slot = slots_;
    slots_ += node.items.size();
    for (const Item& item : node.items) reached += item.is_group ? 0 : 1;
  }
  if (reached != sheet.factors.size()) throw Defect(sheet.code + ": groups lie within each other in a ring.");
}

// Puts groups where their first factor stands in the sheet, so that ties go to the first
// of all, and drops groups without factors. Returns the first factor within.
int RuleTree::order_items(std::size_t node, std::size_t depth) {
  if (depth > nodes_.size()) throw Defect("Groups lie within each other in a ring.");
  std::vector<Item>& items = nodes_[node].items;
  for (std::size_t k = 0; k < items.size(); ++k)
    if (nodes_[node].items[k].is_group)
      nodes_[node].items[k].first = order_items(std::size_t(nodes_[node].items[k].index), depth + 1);
  std::erase_if(items, [](const Item& item) { return item.first < 0; });
  std::stable_sort(items.begin(), items.end(),
                   [](const Item& a, const Item& b) { return a.first < b.first; });
  return items.empty() ? -1 : items.front().first;
}

RuleTree::Scratch RuleTree::scratch() const {
  return {std::vector<double>(slots_, no_value), std::vector<int>(slots_, -1)};
}

RuleTree::Powers RuleTree::powers(const Combine& combine, bool any_limiting, bool any_modifying) {
  return {any_modifying ? combine.limiting_power : 1.0, any_limiting ? 1.0 - combine.limiting_power : 1.0};
}

double RuleTree::share(const Combine& combine, bool limiting, double v, double weight, double all_weights,
                       const Powers& powers) {
  switch (combine.rule) {
    case Rule::lowest:
      return v;
    case Rule::geometric:
      return std::pow(v, weight / all_weights);
    case Rule::arithmetic:
      return 1.0 - weight * (1.0 - v) / all_weights;
    case Rule::graded:
      break;
  }
  return limiting ? std::pow(v, powers.limiting) : std::pow(v, weight * powers.modifying / all_weights);
}

RuleTree::Combined RuleTree::combine(std::span<const double> responses, Scratch& scratch,
                                     Detail* detail) const {
  if (detail) {
    detail->share.assign(responses.size(), 1.0);
    detail->response.assign(responses.begin(), responses.end());
    detail->floored.assign(responses.size(), false);
  }
  return combine_node(nodes_.front(), responses, scratch, detail);
}

RuleTree::Combined RuleTree::combine_node(const Node& node, std::span<const double> responses,
                                          Scratch& scratch, Detail* detail) const {
  const bool graded = node.combine.rule == Rule::graded;
  Combined out;
  bool any_limiting = false, any_modifying = false;
  double all_weights = 0;
  int first_missing = -1;
  for (std::size_t k = 0; k < node.items.size(); ++k) {
    const Item& item = node.items[k];
    double v = no_value;
    int holder = item.index, missing = item.index;
    if (item.is_group) {
      const Combined within = combine_node(nodes_[std::size_t(item.index)], responses, scratch, detail);
      v = within.value;
      holder = within.held_by;
      missing = within.missing;
      out.reweighted = out.reweighted || within.reweighted;
    } else {
      v = responses[std::size_t(item.index)];
    }
    if (std::isnan(v)) {
      if (first_missing < 0) first_missing = missing;
      if (item.limiting && out.missing < 0) out.missing = missing;
      out.reweighted = true;
    } else {
      (item.limiting ? any_limiting : any_modifying) = true;
      if (!item.limiting && node.combine.floor && v < *node.combine.floor) {
        v = *node.combine.floor;
        if (detail && !item.is_group) {
          detail->response[std::size_t(item.index)] = v;
          detail->floored[std::size_t(item.index)] = true;
        }
      }
      if (!graded || !item.limiting) all_weights += item.weight;
    }
    scratch.values[node.slot + k] = v;
    scratch.holders[node.slot + k] = holder;
  }
  if (out.missing >= 0) return out;
  if (!any_limiting && !any_modifying) {
    out.missing = first_missing;
    return out;
  }
  const Powers parts = powers(node.combine, any_limiting, any_modifying);
  double lowest = 1, limiting = 1, product = 1, shortfall = 0;
  for (std::size_t k = 0; k < node.items.size(); ++k) {
    const Item& item = node.items[k];
    const double v = scratch.values[node.slot + k];
    if (std::isnan(v)) continue;
    const double part = share(node.combine, item.limiting, v, item.weight, all_weights, parts);
    if (detail && !item.is_group) detail->share[std::size_t(item.index)] = part;
    if (part < lowest) {
      lowest = part;
      out.held_by = scratch.holders[node.slot + k];
    }
    if (graded && item.limiting)
      limiting = std::min(limiting, part);
    else
      product *= part;
    shortfall += 1.0 - part;
  }
  switch (node.combine.rule) {
    case Rule::lowest:
      out.value = lowest;
      break;
    case Rule::geometric:
      out.value = product;
      break;
    case Rule::arithmetic:
      out.value = 1.0 - shortfall;
      break;
    case Rule::graded:
      out.value = limiting * product;
      break;
  }
  return out;
}

}  // namespace swardline
