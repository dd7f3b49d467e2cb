#include <fmt/format.h>

#include <algorithm>
#include <limits>
#include <numeric>
#include <tuple>
#include <unordered_map>

#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

/// Rows are told apart by their place among files, so a key of 64 bits holds row and column.
std::uint64_t cell_key(const RowAt& at, ReturnColumn column) {
  return (std::uint64_t(at.file) << 40U) ^ (std::uint64_t(at.row) << 8U) ^ std::uint64_t(column);
}

/// The year of the plan's panels, else the one most rows were written in: of a season with one mistyped
/// year in ten rows it is still the right one, of two halves it is not known.
int year_of_season(const Season& season, const Returns& returns) {
  if (season.plan.panels.given && season.plan.panels.year > 0) return season.plan.panels.year;
  std::unordered_map<int, std::size_t> rows_of;
  std::size_t rows = 0;
  Day last = no_day;
  int last_year = 0;
  for (const ReturnRow& row : returns.rows) {
    if (row.left_out || row.date == no_day) continue;
    if (row.date != last) {
      last = row.date;
      last_year = year_of(last);
    }
    ++rows_of[last_year];
    ++rows;
  }
  for (const auto& [year, count] : rows_of)
    if (count * 2 > rows) return year;
  return 0;
}

void find_visits(Material& material) {
  const auto key = [&](std::uint32_t i) {
    const ReturnRow& row = material.row(i);
    return std::tie(row.plot, row.date, row.observer);
  };
  std::vector<std::uint32_t>& order = material.order;
  std::sort(order.begin(), order.end(), [&](std::uint32_t a, std::uint32_t b) {
    const auto left = key(a), right = key(b);
    return left != right ? left < right : a < b;
  });
  for (std::uint32_t begin = 0; begin < order.size();) {
    std::uint32_t end = begin + 1;
    while (end < order.size() && key(order[end]) == key(order[begin])) ++end;
    const ReturnRow& first = material.row(order[begin]);
    Visit visit{first.plot, first.observer, first.date, begin, end};
    for (std::uint32_t i = begin; i < end; ++i) {
      const ReturnRow& row = material.row(order[i]);
      if (row.species < 0 && row.fate != Fate::none) {
        visit.fate = row.fate;
        break;
      }
    }
    material.visits.push_back(visit);
    begin = end;
  }
}

}  // namespace

Material material_of(const Season& season, const Expected& expected, const Returns& returns,
                     const CellText& cell) {
  Material material{
      season, expected, returns, cell, {}, {}, year_of_season(season, returns), PlotPlaces(expected.plots)};
  for (std::uint32_t i = 0; i < returns.rows.size(); ++i)
    if (!returns.rows[i].left_out && returns.rows[i].plot >= 0) material.order.push_back(i);
  find_visits(material);
  return material;
}

std::string Material::place(std::uint32_t index) const {
  const RowAt at = row(index).at;
  if (returns.files.size() < 2 || at.file >= returns.files.size()) return fmt::format("row {}", at.row);
  return fmt::format("{} row {}", returns.files[at.file].original, at.row);
}

Findings::Findings(const Returns& returns) : returns_(returns), open_(returns.rows.size(), 0) {
  if (returns.corrections.empty()) return;
  std::unordered_map<std::string_view, std::uint32_t> file_of;
  for (std::uint32_t f = 0; f < returns.files.size(); ++f) file_of.emplace(returns.files[f].file, f);
  for (const Correction& correction : returns.corrections) {
    if (!correction.confirms()) continue;
    const auto file = file_of.find(correction.file);
    const auto column = return_column(correction.column);
    if (file != file_of.end() && column) confirmed_.insert(cell_key({file->second, correction.row}, *column));
  }
}

bool Findings::confirmed(const RowAt& at, ReturnColumn column) const {
  if (confirmed_.contains(cell_key(at, column))) return true;
  // Half of a position is not confirmed without the other.
  return column == ReturnColumn::lat && confirmed_.contains(cell_key(at, ReturnColumn::lon));
}

void Findings::add(Finding finding) {
  ReturnFlag flag;
  flag.check = finding.check;
  flag.severity =
      finding.only_said ? Severity::note : return_checks()[std::size_t(finding.check) - 1].severity;
  flag.plot = finding.plot;
  flag.column = finding.column;
  flag.value = std::move(finding.value);
  flag.reason = std::move(finding.reason);
  flag.next_step = std::move(finding.next_step);
  flag.rows.reserve(finding.rows.size());
  for (const std::uint32_t row : finding.rows) {
    flag.rows.push_back(returns_.rows[row].at);
    if (!confirmed_.empty() && flag.severity != Severity::stop)
      flag.settled = flag.settled || confirmed(flag.rows.back(), flag.column);
  }
  if (!flag.settled && !finding.only_said)
    for (const std::uint32_t row : finding.rows) open_[row] |= 1U << unsigned(finding.check);
  flags_.push_back(std::move(flag));
}

std::vector<ReturnFlag> Findings::take() {
  const auto first_row = [](const ReturnFlag& flag) {
    return flag.rows.empty() ? RowAt{std::numeric_limits<std::uint32_t>::max(), 0} : flag.rows.front();
  };
  std::vector<std::uint32_t> turn(flags_.size());
  std::iota(turn.begin(), turn.end(), 0U);
  std::stable_sort(turn.begin(), turn.end(), [&](std::uint32_t a, std::uint32_t b) {
    const RowAt left = first_row(flags_[a]), right = first_row(flags_[b]);
    return left != right ? left < right : flags_[a].check < flags_[b].check;
  });
  std::vector<ReturnFlag> sorted;
  sorted.reserve(turn.size());
  for (const std::uint32_t i : turn) sorted.push_back(std::move(flags_[i]));
  flags_.clear();
  return sorted;
}

double median(std::vector<double> values) {
  const auto middle = values.begin() + std::ptrdiff_t(values.size() / 2);
  std::nth_element(values.begin(), middle, values.end());
  return *middle;
}

}  // namespace swardline::return_parts
