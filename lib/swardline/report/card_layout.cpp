#include "swardline/report/card_layout.hpp"

#include <algorithm>
#include <cmath>

namespace swardline {
namespace {

constexpr double safety = 1.05;  // other sans-serif faces are a little wider

/// Columns one after the other.
class ColumnFiller {
 public:
  explicit ColumnFiller(double column_mm) : column_mm_(column_mm) {}

  /// Below what was added last, or in the next column.
  void add(const CardBlock& block) {
    const double whole = height_of(block);
    if (columns_.empty() || (!fits(columns_.back(), whole) && whole <= column_mm_)) columns_.emplace_back();
    for (const CardAtom& atom : block.atoms) {
      if (!fits(columns_.back(), atom.mm)) columns_.emplace_back();
      columns_.back().take(atom);
    }
  }

  /// In the first column with room for all of it.
  void fill_up(const CardBlock& block) {
    const double whole = height_of(block);
    const auto room = std::find_if(columns_.begin(), columns_.end(),
                                   [&](const Column& column) { return fits(column, whole); });
    if (room == columns_.end()) return add(block);
    for (const CardAtom& atom : block.atoms) room->take(atom);
  }

  [[nodiscard]] std::vector<CardColumns> cards() const {
    std::vector<CardColumns> cards((columns_.size() + 1) / 2);
    for (std::size_t i = 0; i < columns_.size(); ++i)
      (i % 2 == 0 ? cards[i / 2].left : cards[i / 2].right) = columns_[i].markup;
    return cards;
  }

 private:
  struct Column {
    std::string markup;
    double used = 0;
    void take(const CardAtom& atom) {
      markup += atom.markup;
      used += atom.mm;
    }
  };

  static double height_of(const CardBlock& block) {
    double sum = 0;
    for (const CardAtom& atom : block.atoms) sum += atom.mm;
    return sum;
  }
  [[nodiscard]] bool fits(const Column& column, double mm) const {
    return column.used == 0 || column.used + mm <= column_mm_;
  }

  double column_mm_;
  std::vector<Column> columns_;
};

}  // namespace

double text_width_mm(std::string_view text, Type type) { return text_mm(text, type) * safety; }

int text_lines(std::string_view text, double width_mm, Type type) {
  int lines = 1;
  double used = 0;
  while (!text.empty()) {
    const std::size_t blank = std::min(text.find(' '), text.size());
    const double word = text_width_mm(text.substr(0, blank), type);
    const double gap = used > 0 ? text_width_mm(" ", type) : 0;
    if (used + gap + word <= width_mm) {
      used += gap + word;
    } else {
      if (used > 0) ++lines;
      const double more = std::floor(word / width_mm);
      lines += int(more);
      used = word - more * width_mm;
    }
    text.remove_prefix(std::min(text.size(), blank + 1));
  }
  return lines;
}

std::string shortened(std::string_view text, std::size_t most) {
  std::size_t letters = 0;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if ((static_cast<unsigned char>(text[i]) & 0xC0U) == 0x80) continue;
    if (++letters > most) return std::string(text.substr(0, i)) + "…";
  }
  return std::string(text);
}

std::vector<CardColumns> fill_cards(const std::vector<CardBlock>& blocks, double column_mm, bool fill_up) {
  ColumnFiller filler(column_mm);
  for (const CardBlock& block : blocks)
    if (!block.anywhere || !fill_up) filler.add(block);
  for (const CardBlock& block : blocks)
    if (block.anywhere && fill_up) filler.fill_up(block);
  return filler.cards();
}

}  // namespace swardline
