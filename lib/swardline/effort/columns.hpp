// A table of text for the terminal. Private to this folder.
#pragma once

#include <string>
#include <vector>

namespace swardline {

/// Columns as wide as their widest cell: the first to the left, the others to the right, two blanks between.
class Columns {
 public:
  explicit Columns(std::vector<std::string> top) : rows_{std::move(top)} {}
  void add(std::vector<std::string> row) { rows_.push_back(std::move(row)); }
  [[nodiscard]] std::string text() const;

 private:
  std::vector<std::vector<std::string>> rows_;
};

}  // namespace swardline
