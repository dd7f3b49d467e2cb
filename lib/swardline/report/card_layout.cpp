#include "swardline/report/card_layout.hpp"

#include <algorithm>
#include <cmath>

namespace swardline {
namespace {

constexpr double safety = 1.05;  // other sans-serif faces are a little wider

/// Columns one after the other, two to a card.
class ColumnFiller {
 public:
  explicit ColumnFiller(double column_mm) : column_mm_(column_mm) {}

  void add(const CardBlock& block) {
    double whole = 0;
    for (const CardAtom& atom : block) whole += atom.mm;
    if (used_ > 0 && used_ + whole > column_mm_ && whole <= column_mm_) next_column();
    for (const CardAtom& atom : block) {
      if (used_ > 0 && used_ + atom.mm > column_mm_) next_column();
      (right_ ? cards_.back().right : cards_.back().left) += atom.markup;
      used_ += atom.mm;
    }
  }
  std::vector<CardColumns> take() { return std::move(cards_); }

 private:
  void next_column() {
    used_ = 0;
    right_ = !right_;
    if (!right_) cards_.emplace_back();
  }

  double column_mm_;
  std::vector<CardColumns> cards_ = {{}};
  bool right_ = false;
  double used_ = 0;
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

std::vector<CardColumns> fill_cards(const std::vector<CardBlock>& blocks, double column_mm) {
  ColumnFiller filler(column_mm);
  for (const CardBlock& block : blocks) filler.add(block);
  return filler.take();
}

}  // namespace swardline
