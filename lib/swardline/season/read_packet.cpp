#include "swardline/season/read_packet.hpp"

#include <fmt/format.h>

#include <cctype>

namespace swardline {
namespace {

bool digit_of_number(char c) { return c >= '0' && c <= '9'; }

bool holds_number(std::string_view text) {
  int digits = 0;
  for (const char c : text) {
    if (digit_of_number(c))
      ++digits;
    else if (std::string_view(" -./()+").find(c) == std::string_view::npos)
      digits = 0;
    if (digits >= 7) return true;
  }
  return false;
}

bool holds_address(std::string_view text) {
  const auto part_of_word = [&](std::size_t at) {
    return at < text.size() && (std::isalnum(static_cast<unsigned char>(text[at])) != 0);
  };
  for (std::size_t at = text.find('@'); at != std::string_view::npos; at = text.find('@', at + 1))
    if (at > 0 && part_of_word(at - 1) && part_of_word(at + 1) &&
        text.find('.', at) != std::string_view::npos)
      return true;
  return false;
}

}  // namespace

bool tells_how_to_reach(std::string_view text) { return holds_number(text) || holds_address(text); }

void read_packet(const TomlTable& at, Plan& plan) {
  PacketSpec& packet = plan.packet;
  packet.place = at.place();
  take(at.text("contact"), packet.contact);
  if (tells_how_to_reach(packet.contact))
    at.add(Severity::ask, at.place("contact"), "contact in a file",
           "contact looks like a telephone number or an address: sheets are copied, lost and passed on.",
           "Leave contact out, and write it on the printed sheets by hand.");
  take(at.text("habitat"), packet.habitat);
  const std::vector<std::string> grids = {"usng", "utm", "degrees"};
  if (const auto grid = at.choice("grid", grids)) packet.grid = grids[*grid];
  take(at.whole("pace_cm", 30, 200), packet.pace_cm);
  take(at.texts("stop_if"), packet.stop_if);
}

}  // namespace swardline
