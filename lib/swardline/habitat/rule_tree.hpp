// How a sheet's factors combine, laid out once so that a cell costs no allocation.
// Private to the stage: score_cell, the tables and the kernels all stand on it.
#pragma once

#include <limits>
#include <span>
#include <string>
#include <vector>

#include "swardline/season/sheet.hpp"

namespace swardline {

inline constexpr double no_value = std::numeric_limits<double>::quiet_NaN();

/// True for a factor without whose value nothing can be said: a limiting one, or one
/// that reads classes (ground there might be excluded).
[[nodiscard]] bool must_have(const Factor& factor);

/// "cover OW"
[[nodiscard]] std::string exclusion_reason(const Factor& factor, const std::string& class_code);
/// "elevation at or above 260", or in the sheet's own words "outside its range (elevation)".
[[nodiscard]] std::string exclusion_reason(const Mask& mask);
[[nodiscard]] bool masked_out(const Mask& mask, double value);

class RuleTree {
 public:
  /// Throws Defect where groups do not hang together (the sheet's reader says so first).
  explicit RuleTree(const Sheet& sheet);

  struct Scratch {
    std::vector<double> values;
    std::vector<int> holders;
  };
  struct Combined {
    double value = no_value;  ///< none when `missing` says what is lacking
    int held_by = -1;         ///< factor, or -1 when all are 1
    int missing = -1;         ///< factor without which there is no value
    bool reweighted = false;
  };
  /// What each factor contributed, for explanations.
  struct Detail {
    std::vector<double> share;
    std::vector<double> response;
    std::vector<bool> floored;
  };

  [[nodiscard]] Scratch scratch() const;
  /// `responses`: one per factor of the sheet, NaN where it has no data.
  [[nodiscard]] Combined combine(std::span<const double> responses, Scratch& scratch,
                                 Detail* detail = nullptr) const;

  /// One level without groups: what the kernels for whole spans handle.
  [[nodiscard]] bool flat() const { return nodes_.size() == 1; }
  [[nodiscard]] const Combine& top() const { return nodes_.front().combine; }

  struct Powers {
    double limiting = 1, modifying = 1;
  };
  /// Powers of the two parts of `graded`; a part without factors leaves all to the other.
  [[nodiscard]] static Powers powers(const Combine& combine, bool any_limiting, bool any_modifying);
  /// What an item of value v contributes to its level; the smallest holds the level down.
  [[nodiscard]] static double share(const Combine& combine, bool limiting, double v, double weight,
                                    double all_weights, const Powers& powers);

 private:
  struct Item {
    bool is_group = false;
    int index = 0;  // factor, or node
    int first = 0;  // first factor within, for the sheet's order
    bool limiting = true;
    double weight = 1;
  };
  struct Node {
    Combine combine;
    std::vector<Item> items;
    std::size_t slot = 0;  // of the first item in the scratch
  };
  Combined combine_node(const Node& node, std::span<const double> responses, Scratch& scratch,
                        Detail* detail) const;
  int order_items(std::size_t node, std::size_t depth);

  std::vector<Node> nodes_;
  std::size_t slots_ = 0;
};

}  // namespace swardline
