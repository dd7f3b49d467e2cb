// Order numbers and names beside their plots on a sheet's map. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace swardline {

/// The number large, the name small; moved round the mark until they cover no other. A name that finds no
/// room is left out (the table below has it), a number never.
class SheetLabels {
 public:
  /// `frame`: millimetres to stay within, y downwards.
  explicit SheetLabels(const Box& frame) : frame_(frame) {}
  void keep_off(double x, double y, double radius) {
    taken_.push_back({x - radius, y - radius, x + radius, y + radius});
  }
  void keep_off(const Box& box) { taken_.push_back(box); }
  [[nodiscard]] std::string place(const std::string& number, const std::string& name, double x, double y);

 private:
  struct Found {
    Box box;
    double cost = 1e9;
  };
  [[nodiscard]] Found best(double width, double height, double x, double y, double reach) const;

  Box frame_;
  std::vector<Box> taken_;
};

}  // namespace swardline
