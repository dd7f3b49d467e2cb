#include <fmt/format.h>

#include <algorithm>

#include "swardline/base/text.hpp"
#include "swardline/effort/columns.hpp"
#include "swardline/effort/effort.hpp"

namespace swardline {
namespace {

/// Characters, not bytes: "±" is two bytes wide in UTF-8.
std::size_t characters(const std::string& text) {
  return std::size_t(std::count_if(text.begin(), text.end(),
                                   [](char c) { return (static_cast<unsigned char>(c) & 0xC0) != 0x80; }));
}

std::string number(const std::optional<double>& value) {
  return value ? fmt::format("{:.4f}", *value) : std::string();
}

}  // namespace

std::string Columns::text() const {
  std::vector<std::size_t> widths(rows_.front().size());
  for (const auto& row : rows_)
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], characters(row[i]));
  std::string out;
  for (const auto& row : rows_) {
    for (std::size_t i = 0; i < row.size(); ++i) {
      const std::string blanks(widths[i] - characters(row[i]), ' ');
      out += i == 0 ? "  " + row[i] + blanks : "  " + blanks + row[i];
    }
    out.erase(out.find_last_not_of(' ') + 1);
    out += '\n';
  }
  return out;
}

std::string effort_csv(const Effort& effort) {
  std::string out =
      "species,plots,person_hours,limits,coefficient_of_variation,narrowed_per_hour,change,occupied_limits,"
      "occupied_change,find_one\n";
  for (const SpeciesEffort& species : effort.species)
    for (std::size_t i = 0; i < species.reach.size(); ++i) {
      const Reach& reach = species.reach[i];
      std::string per_hour;
      if (i + 1 < species.reach.size() && reach.limits)
        per_hour = fmt::format("{:.6f}", (*reach.limits - *species.reach[i + 1].limits) /
                                             (effort.hours[i + 1] - effort.hours[i]));
      out += fmt::format("{},{},{:.1f},{},{},{},{},{},{},{}\n", csv_field(species.spread.code),
                         effort.plots[i], effort.hours[i], number(reach.limits), number(reach.variation),
                         per_hour, number(reach.change), number(reach.occupied),
                         number(reach.occupied_change), number(reach.find_one));
    }
  return out;
}

}  // namespace swardline
