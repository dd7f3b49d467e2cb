#include "swardline/season/read_blocks.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <set>

namespace swardline {
namespace {

/// "QPR 7601-2003"
bool is_block_name(const std::string& text) {
  constexpr std::string_view form = "0000-0000";
  const auto blank = text.rfind(' ');
  if (blank == std::string::npos || blank == 0 || text.size() - blank - 1 != form.size()) return false;
  for (std::size_t i = 0; i < form.size(); ++i) {
    const char c = text[blank + 1 + i];
    if (form[i] == '-' ? c != '-' : std::isdigit(static_cast<unsigned char>(c)) == 0) return false;
  }
  return true;
}

}  // namespace

void read_blocks(const TomlTable& at, Plan& plan) {
  BlocksSpec& blocks = plan.blocks;
  blocks.place = at.has("side_m") ? at.place("side_m") : at.place();
  blocks.chosen_place = at.place("chosen");
  take(at.number("side_m", {.low = 0, .high = 10000, .above_low = true}), blocks.side_m);
  take(at.number("steep_deg", {0, 90}), blocks.steep_deg);
  const auto chosen = at.texts("chosen");
  if (!chosen) return;
  std::set<std::string> seen;
  for (const std::string& name : *chosen) {
    if (!is_block_name(name)) {
      at.stop(
          at.place("chosen"), "block name", fmt::format("chosen: \"{}\" is no block's name.", name),
          "Write the site's code and two numbers as swardline blocks prints them, like \"QPR 7601-2003\".");
    } else if (!seen.insert(name).second) {
      at.stop(at.place("chosen"), "named twice", fmt::format("chosen names {} twice.", name),
              "Name it once.");
    } else {
      blocks.chosen.push_back(name);
    }
  }
}

}  // namespace swardline
