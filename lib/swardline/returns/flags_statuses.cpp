// Counts beside a status that carries none.
#include <fmt/format.h>

#include <algorithm>
#include <optional>

#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

bool anything_counted(const ReturnRow& row) {
  // "Not searched" beside "mown" is no count.
  return row.stems >= 0 || row.twice_stems >= 0 || row.rosettes >= 0;
}

/// "Mown is not zero."
std::string not_zero(Fate fate) {
  switch (fate) {
    case Fate::mown:
      return "Mown is not zero.";
    case Fate::grazed:
      return "Grazed is not zero.";
    case Fate::burned:
      return "Burned is not zero.";
    case Fate::sprayed:
      return "Sprayed is not zero.";
    default:
      return "Not seen is not zero.";
  }
}

/// "Not reached" in one row and a count that is "counted" in another: one of them does not hold. True where
/// it was said; `rows`: counts without a status of their own, that follow the first.
bool two_statuses(const Material& material, const Visit& visit, std::vector<std::uint32_t> rows,
                  Findings& findings) {
  std::optional<std::uint32_t> counted, not_counted;
  for (const std::uint32_t r : material.rows(visit)) {
    const ReturnRow& row = material.row(r);
    if (row.fate == Fate::none || row.fate == Fate::unknown) continue;
    const bool count = carries_counts(row.fate);
    if (count != anything_counted(row)) continue;
    std::optional<std::uint32_t>& first = count ? counted : not_counted;
    if (!first) first = r;
    rows.push_back(r);
  }
  if (!counted || !not_counted) return false;
  std::sort(rows.begin(), rows.end());
  const char* status = word(material.row(*not_counted).fate);
  findings.add(
      {23, rows, visit.plot, ReturnColumn::status, status,
       fmt::format("{} is '{}' in {} and has counts that are '{}' in {}, by one observer on one day.",
                   material.plot(visit.plot).name, status, material.place(*not_counted),
                   word(material.row(*counted).fate), material.place(*counted)),
       "Leave out the rows that do not hold."});
  return true;
}

void look_at(const Material& material, const Visit& visit, Findings& findings) {
  std::vector<std::uint32_t> counted, unknown;
  for (const std::uint32_t r : material.rows(visit)) {
    const Fate fate = fate_at(material.row(r), visit);
    if (fate == Fate::unknown)
      unknown.push_back(r);
    else if (!carries_counts(fate) && anything_counted(material.row(r)))
      counted.push_back(r);
  }
  const std::string& name = material.plot(visit.plot).name;
  if (!unknown.empty()) {
    // Where only the visit's own row has the word, the others follow it.
    std::uint32_t with_word = unknown.front();
    for (const std::uint32_t r : unknown)
      if (material.row(r).fate == Fate::unknown) {
        with_word = r;
        break;
      }
    const std::string text = material.text(with_word, ReturnColumn::status);
    findings.add(
        {23, unknown, visit.plot, ReturnColumn::status, text,
         fmt::format("{}: '{}' is no status.", name, text),
         "Use counted, part counted, not countable (mown, grazed, burned, sprayed), not found, not reached, "
         "no permission, unsafe, under water or not survey area."});
  }
  if (two_statuses(material, visit, counted, findings) || counted.empty()) return;
  const ReturnRow& first = material.row(counted.front());
  const Fate fate = fate_at(first, visit);
  const int stems = std::max({first.stems, first.twice_stems, first.rosettes});
  const char* what = first.stems >= 0 || first.twice_stems >= 0 ? "stems" : "rosettes";
  findings.add({23, counted, visit.plot, ReturnColumn::flowering_stems, fmt::format("{}", stems),
                fmt::format("{} is '{}' and has {} {}{}. {}", name, word(fate), stems, what,
                            counted.size() == 1
                                ? ""
                                : fmt::format(", and {}",
                                              counted_words(counted.size() - 1, "more count", "more counts")),
                            not_zero(fate)),
                "Remove the count or the status."});
}

}  // namespace

void check_statuses(const Material& material, Findings& findings) {
  for (const Visit& visit : material.visits) look_at(material, visit, findings);
}

}  // namespace swardline::return_parts
