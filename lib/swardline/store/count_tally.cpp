#include "swardline/store/count_tally.hpp"

#include <algorithm>
#include <optional>

namespace swardline {
namespace {

/// Forms print areas to one decimal.
constexpr double rounding_m2 = 0.05 + 1e-6;
/// Less ground than this in the count-twice zone is none.
constexpr double no_zone_m2 = 1e-6;

bool counts_twice(EdgeRule rule) { return rule == EdgeRule::walk_through || rule == EdgeRule::fold_back; }

/// The share of what lies inside that the row is a count of; nothing where that is not known.
std::optional<double> share_counted(const SearchGround& ground, const CountRow& row) {
  const bool half = row.method == CountMethod::half_counted;
  if (std::isnan(row.area_m2) && row.part) return {};
  // An area that is less than the plot's is that of what was counted, of a half as well.
  if (row.area_m2 < ground.inside_m2 - rounding_m2) {
    if (row.area_m2 <= 0) return {};
    return double(row.area_m2) / ground.inside_m2;
  }
  return half ? 0.5 : 1;
}

bool same_kind(const CountRow& a, const CountRow& b) {
  return a.certainty == b.certainty && a.phase == b.phase;
}

}  // namespace

double denominator_m2(EdgeRule rule, const SearchGround& ground) {
  if (counts_twice(rule)) return ground.inside_m2 + ground.twice_m2;
  return rule == EdgeRule::grown_frame ? ground.plot_m2 : ground.inside_m2;
}

CountTally tally_of(EdgeRule rule, const SearchGround& ground, std::span<const CountRow> rows) {
  CountTally tally;
  struct Part {
    double stems, area_m2;
    bool sure;
  };
  // Areas differ where one row is of half of the plot: counts are brought to the largest before they are
  // added.
  std::array<Part, 8> parts{};
  std::size_t known = 0;
  const bool zone = counts_twice(rule) && ground.twice_m2 > no_zone_m2;
  for (std::size_t i = 0; i < rows.size() && known < parts.size(); ++i) {
    const CountRow& row = rows[i];
    if (row.stems < 0) continue;
    const auto agrees = [&row](const CountRow& before) {
      return before.stems >= 0 && same_kind(before, row);
    };
    if (std::any_of(rows.begin(), rows.begin() + std::ptrdiff_t(i), agrees)) continue;
    const std::optional<double> share = share_counted(ground, row);
    if (!share) {
      tally.part_without_area = true;
      continue;
    }
    const bool once = zone && row.twice_stems < 0 && row.stems > 0;
    tally.twice_box_empty = tally.twice_box_empty || once;
    const int twice = zone && row.twice_stems > 0 ? std::min(row.twice_stems, row.stems) : 0;
    parts[known++] = {double(row.stems) + double(twice),
                      *share * (once ? ground.inside_m2 : denominator_m2(rule, ground)),
                      row.certainty != Certainty::not_certain};
    tally.stems += row.stems;
  }
  for (std::size_t i = 0; i < known; ++i)
    tally.count.area_m2 = std::max(tally.count.area_m2, parts[i].area_m2);
  for (std::size_t i = 0; i < known; ++i) {
    const double stems = parts[i].stems * tally.count.area_m2 / parts[i].area_m2;
    (parts[i].sure ? tally.count.sure : tally.count.not_certain) += stems;
  }
  tally.count.searched = known > 0 && tally.count.area_m2 > 0;
  return tally;
}

}  // namespace swardline
