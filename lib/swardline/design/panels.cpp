#include "swardline/design/panels.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/text.hpp"

namespace swardline {
namespace {

/// The seasons in which a panel of the part is first met.
std::vector<int> first_seasons(const RevisitPart& part, int years) {
  if (part.always()) return {0};
  std::vector<int> first;
  if (part.never_again) {
    // Panels that would have begun before the start keep the number of plots the same in every season.
    for (int season = 1 - part.cycle(); season < years; ++season) {
      bool met = false;
      for (int t = std::max(0, season); t < years; ++t) met = met || part.on(t - season);
      if (met) first.push_back(season);
    }
    return first;
  }
  for (int season = 0; season < part.cycle(); ++season) first.push_back(season);
  return first;
}

/// Season 0 is in the cycle of a panel met first in season 3 as well, only earlier.
bool on_at(const RevisitPart& part, int first, int season) {
  if (part.always()) return season >= 0;
  if (part.never_again) return part.on(season - first);
  const int cycle = part.cycle();
  return part.on(((season - first) % cycle + cycle) % cycle);
}

/// Whole numbers in proportion to the shares that add up, largest remainder first, ties to the earlier part.
std::vector<int> shared(const std::vector<RevisitPart>& parts, int count) {
  std::vector<int> numbers;
  std::vector<std::size_t> turn(parts.size());
  std::iota(turn.begin(), turn.end(), std::size_t{0});
  int left = count;
  std::vector<double> rest;
  for (const RevisitPart& part : parts) {
    const double fair = part.share * count;
    numbers.push_back(int(std::floor(fair + 1e-9)));
    rest.push_back(fair - numbers.back());
    left -= numbers.back();
  }
  std::stable_sort(turn.begin(), turn.end(),
                   [&](std::size_t a, std::size_t b) { return rest[a] > rest[b] + 1e-9; });
  for (int i = 0; i < left; ++i) ++numbers[turn[std::size_t(i) % turn.size()]];
  return numbers;
}

}  // namespace

PanelScheme::PanelScheme(const PanelsSpec& spec) : spec_(spec) {
  const int years = int(this->years().size());
  for (std::size_t p = 0; p < spec_.parts.size(); ++p) {
    const std::vector<int> first = first_seasons(spec_.parts[p], years);
    const std::string letter(1, char('A' + p % 26));
    for (std::size_t k = 0; k < first.size(); ++k)
      panels_.push_back({first.size() == 1 ? letter : letter + std::to_string(k + 1), p, first[k]});
  }
}

std::optional<std::size_t> PanelScheme::index(const std::string& name) const {
  const auto found =
      std::find_if(panels_.begin(), panels_.end(), [&](const Panel& panel) { return panel.name == name; });
  if (found == panels_.end()) return {};
  return std::size_t(found - panels_.begin());
}

bool PanelScheme::due(std::size_t panel, int year) const {
  return on_at(spec_.parts[panels_[panel].part], panels_[panel].first, year - spec_.start);
}

std::vector<int> PanelScheme::years() const {
  int count = 1;
  for (const RevisitPart& part : spec_.parts) count = std::max(count, part.cycle());
  if (spec_.years) count = *spec_.years;
  count = std::max(count, spec_.year - spec_.start + 1);
  std::vector<int> years(std::size_t(count), 0);
  std::iota(years.begin(), years.end(), spec_.start);
  return years;
}

std::vector<int> PanelScheme::years_due(std::size_t panel) const {
  std::vector<int> all = years();
  std::erase_if(all, [&](int year) { return !due(panel, year); });
  return all;
}

std::vector<int> PanelScheme::sizes(int a_season) const {
  const std::vector<int> of_part = shared(spec_.parts, a_season);
  std::vector<int> sizes;
  for (std::size_t p = 0; p < spec_.parts.size(); ++p) {
    const auto panels = std::int64_t(
        std::count_if(panels_.begin(), panels_.end(), [p](const Panel& panel) { return panel.part == p; }));
    const std::int64_t on = spec_.parts[p].visits();
    const std::int64_t all =
        (of_part[p] * panels + on - 1) / on;  // never fewer a season than asked, in the mean
    for (std::int64_t k = 0; k < panels; ++k) sizes.push_back(int((k + 1) * all / panels - k * all / panels));
  }
  return sizes;
}

std::vector<std::size_t> panels_of_ranks(const std::vector<int>& sizes, int count) {
  const std::int64_t all = std::accumulate(sizes.begin(), sizes.end(), std::int64_t{0});
  std::vector<std::size_t> panels;
  std::int64_t up_to = 0;
  for (std::size_t p = 0; p < sizes.size(); ++p) {
    up_to += sizes[p];
    while (std::int64_t(panels.size()) < (all == 0 ? count : up_to * count / all)) panels.push_back(p);
  }
  return panels;
}

std::vector<std::string> in_words(const PanelTable& table) {
  std::vector<std::string> lines = {
      fmt::format("Panels {} since {}; plots due by season:", table.pattern, table.start)};
  for (const PanelTable::Year& year : table.years) {
    lines.push_back(fmt::format("{} {}  {:>6} plots  {}", year.year == table.year ? ">" : " ", year.year,
                                grouped(year.plots), fmt::join(year.due, " ")));
  }
  return lines;
}

std::string to_json(const PanelTable& table, const std::string& indent) {
  std::string text =
      fmt::format("{{\n{}  \"pattern\": {},\n{}  \"start\": {},\n{}  \"year\": {},\n{}  \"years\": [", indent,
                  json_quote(table.pattern), indent, table.start, indent, table.year, indent);
  for (std::size_t i = 0; i < table.years.size(); ++i) {
    const PanelTable::Year& year = table.years[i];
    std::vector<std::string> due;
    for (const std::string& name : year.due) due.push_back(json_quote(name));
    text += fmt::format("{}\n{}    {{\"year\": {}, \"plots\": {}, \"due\": [{}]}}", i == 0 ? "" : ",", indent,
                        year.year, year.plots, fmt::join(due, ", "));
  }
  text += fmt::format("\n{}  ],\n{}  \"panels\": [", indent, indent);
  for (std::size_t i = 0; i < table.strata.size(); ++i) {
    const StratumPanel& p = table.strata[i];
    text += fmt::format(
        "{}\n{}    {{\"stratum\": {}, \"panel\": {}, \"plots\": {}, \"spares\": {}, \"chance_per_m2\": {}, "
        "\"due\": [{}], \"this_season\": {}}}",
        i == 0 ? "" : ",", indent, json_quote(p.stratum), json_quote(p.panel), p.plots, p.spares,
        shortest(p.chance_per_m2), fmt::join(p.due, ", "), p.now);
  }
  return text + fmt::format("\n{}  ]\n{}}}", indent, indent);
}

}  // namespace swardline
