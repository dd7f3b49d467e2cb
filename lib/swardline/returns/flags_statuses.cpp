// Counts beside a status that carries none.
#include <fmt/format.h>

#include "swardline/returns/day_words.hpp"
#include "swardline/returns/flag_parts.hpp"

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
  if (counted.empty()) return;
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
