// The same boxes filled twice: one sheet keyed twice, or a plot counted by two teams. And spares out of turn.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>
#include <unordered_map>

#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

// Two teams that count the same boxes alike by chance: so many finds agree only where one sheet was keyed
// twice. Fewer do where the sheets share an observer, who stood there once.
constexpr std::size_t finds_of_strangers = 8;
constexpr std::size_t finds_of_one_team = 3;

/// A sheet, or what a file holds without sheet numbers: file and sheet in one key.
using SheetKey = std::uint64_t;
SheetKey sheet_of(const ReturnRow& row) {
  return (SheetKey(row.at.file) << 32U) | SheetKey(std::uint32_t(row.sheet));
}
std::uint32_t file_of(SheetKey key) { return std::uint32_t(key >> 32U); }
std::int32_t id_of(SheetKey key) { return std::int32_t(std::uint32_t(key)); }

bool same_observer(const ReturnRow& a, const ReturnRow& b) {
  return a.observer == b.observer || a.observer < 0 || b.observer < 0;
}
bool share_an_observer(const ReturnRow& a, const ReturnRow& b) {
  const auto in = [](std::int32_t who, const ReturnRow& row) {
    return who >= 0 && (who == row.observer || who == row.second_observer);
  };
  return in(a.observer, b) || in(a.second_observer, b);
}

/// What a box is of; the order is that of rows within it.
auto box_of(const ReturnRow& row) { return std::tie(row.species, row.certainty, row.station, row.phase); }

class Twice {
 public:
  Twice(const Material& material, Findings& findings) : material_(material), findings_(findings) {}

  void look() {
    // Visits come by plot and day, so the rows of a day on a plot lie together.
    const std::vector<std::uint32_t>& order = material_.order;
    for (const Visit& visit : material_.visits) {
      if (visit.begin < day_end_) continue;
      day_end_ = visit.end;
      while (day_end_ < order.size() && material_.row(order[day_end_]).plot == visit.plot &&
             material_.row(order[day_end_]).date == visit.date)
        ++day_end_;
      look_at_day(visit);
    }
    if (!pairs_.empty()) count_boxes();
    for (auto& [sheets, pair] : pairs_) judge(sheets.first, sheets.second, pair);
  }

 private:
  struct Pair {
    std::vector<std::uint32_t> first, second;  ///< rows of the same box, one each
    std::size_t agree = 0, finds = 0;
    bool same_observer = true, one_team = true;
  };

  [[nodiscard]] bool counts(std::uint32_t r) const {
    const ReturnRow& row = material_.row(r);
    return row.species >= 0 && row.stems >= 0 && carries_counts(row.fate) &&
           !findings_.any_open(r, {10, 15, 23});
  }

  void look_at_day(const Visit& visit) {
    if (visit.date == no_day || day_end_ - visit.begin < 2) return;
    std::vector<std::uint32_t>& rows = day_;
    rows.clear();
    for (std::uint32_t i = visit.begin; i < day_end_; ++i)
      if (counts(material_.order[i])) rows.push_back(material_.order[i]);
    std::sort(rows.begin(), rows.end(), [&](std::uint32_t a, std::uint32_t b) {
      const auto left = box_of(material_.row(a)), right = box_of(material_.row(b));
      return left != right ? left < right : a < b;
    });
    std::vector<std::uint32_t> within;  // boxes filled twice in one sheet
    for (std::size_t begin = 0; begin < rows.size();) {
      std::size_t end = begin + 1;
      while (end < rows.size() && box_of(material_.row(rows[end])) == box_of(material_.row(rows[begin])))
        ++end;
      for (std::size_t i = begin + 1; i < end; ++i) same_box(rows[begin], rows[i], within);
      begin = end;
    }
    if (!within.empty()) filled_twice(visit, within);
  }

  void same_box(std::uint32_t first, std::uint32_t second, std::vector<std::uint32_t>& within) {
    const ReturnRow& a = material_.row(first);
    const ReturnRow& b = material_.row(second);
    if (sheet_of(a) == sheet_of(b)) {
      if (!same_observer(a, b)) return;  // two counts on one sheet: a recount
      if (a.stems != b.stems) within.push_back(first);
      within.push_back(second);
      return;
    }
    Pair& pair = pairs_[{sheet_of(a), sheet_of(b)}];
    pair.first.push_back(first);
    pair.second.push_back(second);
    pair.agree += a.stems == b.stems ? 1 : 0;
    pair.finds += a.stems > 0 ? 1 : 0;
    pair.same_observer = pair.same_observer && same_observer(a, b);
    pair.one_team = pair.one_team && share_an_observer(a, b);
  }

  void filled_twice(const Visit& visit, std::vector<std::uint32_t>& rows) {
    std::sort(rows.begin(), rows.end());
    rows.erase(std::unique(rows.begin(), rows.end()), rows.end());
    const ReturnRow& last = material_.row(rows.back());
    findings_.add({21, rows, visit.plot, ReturnColumn::flowering_stems, fmt::format("{}", last.stems),
                   fmt::format("{}, {}: one sheet has its box twice, the second time in {}, with {} stems.",
                               material_.plot(visit.plot).name, short_name(material_.sheet(last.species)),
                               material_.place(rows.back()), last.stems),
                   "Leave out the row that does not hold."});
  }

  void count_boxes() {
    for (const std::uint32_t r : material_.order)
      if (counts(r)) ++boxes_[sheet_of(material_.row(r))];
  }

  void judge(SheetKey first, SheetKey second, Pair& pair) {
    const std::size_t common = pair.first.size();
    const bool whole = pair.agree == common && boxes_[first] == common && boxes_[second] == common;
    const std::size_t enough = pair.one_team ? finds_of_one_team : finds_of_strangers;
    if (whole && (pair.same_observer || pair.finds >= enough)) {
      say(pair.second,
          fmt::format("{} and {} agree in {}: one sheet keyed twice?", name(first, second),
                      name(second, first),
                      common == 1 ? "the only box" : fmt::format("all {} boxes", common)),
          "Leave out the rows of one of them; until then the first is used.");
    } else if (pair.same_observer) {
      std::vector<std::uint32_t> rows = pair.second;
      for (std::size_t i = 0; i < common; ++i)
        if (material_.row(pair.first[i]).stems != material_.row(pair.second[i]).stems)
          rows.push_back(pair.first[i]);
      std::sort(rows.begin(), rows.end());
      say(rows,
          fmt::format("{} and {} fill the same {}, {} of them alike, by one observer on one day.",
                      name(first, second), name(second, first), counted_words(common, "box", "boxes"),
                      pair.agree),
          "Leave out the rows that do not hold.");
    }
  }

  void say(std::vector<std::uint32_t> rows, std::string reason, std::string next_step) {
    std::int32_t plot = material_.row(rows.front()).plot;
    for (const std::uint32_t r : rows)
      if (material_.row(r).plot != plot) plot = -1;
    std::sort(rows.begin(), rows.end());
    const std::string sheet = material_.returns.texts.text(material_.row(rows.front()).sheet);
    findings_.add({21, rows, plot, ReturnColumn::sheet_id, sheet, std::move(reason), std::move(next_step)});
  }

  /// "sheet 0412", with its file where the two are of two; the first word of a sentence.
  [[nodiscard]] std::string name(SheetKey sheet, SheetKey other) const {
    const bool files = file_of(sheet) != file_of(other) && file_of(sheet) < material_.returns.files.size();
    const std::string of = files ? " of " + material_.returns.files[file_of(sheet)].original : std::string();
    if (id_of(sheet) < 0) return "the rows without a sheet" + of;
    return "sheet " + material_.returns.texts.text(id_of(sheet)) + (id_of(sheet) == id_of(other) ? of : "");
  }

  const Material& material_;
  Findings& findings_;
  std::uint32_t day_end_ = 0;
  std::vector<std::uint32_t> day_;
  std::map<std::pair<SheetKey, SheetKey>, Pair> pairs_;
  std::unordered_map<SheetKey, std::size_t> boxes_;
};

/// 22: counts of one plot on several visits; the first is used.
class Recounts {
 public:
  Recounts(const Material& material, Findings& findings) : material_(material), findings_(findings) {}

  void look() {
    const std::vector<Visit>& visits = material_.visits;
    for (std::size_t begin = 0; begin < visits.size();) {
      std::size_t end = begin + 1;
      while (end < visits.size() && visits[end].plot == visits[begin].plot) ++end;
      if (end - begin > 1) look_at(std::span(visits).subspan(begin, end - begin));
      begin = end;
    }
  }

 private:
  struct Counted {
    const Visit* visit;
    std::uint32_t first_row = 0;
    std::map<std::int32_t, std::pair<std::int64_t, std::vector<std::uint32_t>>> stems;  ///< by species
  };

  [[nodiscard]] Counted counted(const Visit& visit) const {
    Counted out{&visit, 0, {}};
    for (const std::uint32_t r : material_.rows(visit)) {
      if (!has_count(material_.row(r), visit) || findings_.any_open(r, {10, 15, 21, 23})) continue;
      if (out.stems.empty()) out.first_row = r;
      auto& [sum, rows] = out.stems[material_.row(r).species];
      sum += material_.row(r).stems;
      rows.push_back(r);
    }
    return out;
  }

  void look_at(std::span<const Visit> visits) {
    std::vector<Counted> all;
    for (const Visit& visit : visits)
      if (Counted one = counted(visit); !one.stems.empty()) all.push_back(std::move(one));
    if (all.size() < 2) return;
    std::stable_sort(all.begin(), all.end(), [](const Counted& a, const Counted& b) {
      return std::tie(a.visit->date, a.first_row) < std::tie(b.visit->date, b.first_row);
    });
    for (std::size_t i = 1; i < all.size(); ++i)
      if (say(all.front(), all[i])) return;
  }

  bool say(const Counted& first, const Counted& again) {
    std::int64_t one = 0, two = 0;
    std::vector<std::uint32_t> rows;
    for (const auto& [species, stems] : first.stems) {
      const auto other = again.stems.find(species);
      if (other == again.stems.end()) continue;
      one += stems.first;
      two += other->second.first;
      rows.insert(rows.end(), stems.second.begin(), stems.second.end());
      rows.insert(rows.end(), other->second.second.begin(), other->second.second.end());
    }
    if (rows.empty()) return false;
    std::sort(rows.begin(), rows.end());
    const bool by_day = first.visit->date != again.visit->date;
    const bool same = first.visit->observer == again.visit->observer;
    const std::string& name = material_.plot(first.visit->plot).name;
    findings_.add(
        {22, rows, first.visit->plot, ReturnColumn::visit_date, iso_date(again.visit->date),
         fmt::format("{} counted {} ({}) and {} ({}){}: {}; first visit used.", name,
                     short_date(first.visit->date), one,
                     by_day ? short_date(again.visit->date) : "again that day", two,
                     same ? " by one observer" : "", same ? "kept beside it" : "kept as a recount pair"),
         "Nothing to do where the second count was meant; else correct the plot or the date."});
    return true;
  }

  const Material& material_;
  Findings& findings_;
};

}  // namespace

void check_sheets(const Material& material, Findings& findings) {
  Twice(material, findings).look();
  Recounts(material, findings).look();
}

void check_spares(const Material& material, Findings& findings) {
  struct Spare {
    int order;
    std::int32_t plot;
  };
  std::map<std::string, std::vector<Spare>> strata;
  const std::vector<ExpectedPlot>& plots = material.expected.plots;
  for (std::size_t p = 0; p < plots.size(); ++p)
    if (plots[p].spare && plots[p].due) strata[plots[p].stratum].push_back({plots[p].order, std::int32_t(p)});
  if (strata.empty()) return;
  std::unordered_map<std::int32_t, std::vector<std::uint32_t>> rows_of;  // of spares in use
  for (const Visit& visit : material.visits) {
    if (!material.plot(visit.plot).spare) continue;
    for (const std::uint32_t r : material.rows(visit))
      if (written(material.row(r)) || fate_at(material.row(r), visit) != Fate::none)
        rows_of[visit.plot].push_back(r);
  }
  for (auto& [stratum, spares] : strata) {
    std::sort(spares.begin(), spares.end(), [](const Spare& a, const Spare& b) {
      return std::tie(a.order, a.plot) < std::tie(b.order, b.plot);
    });
    std::vector<std::string> waiting, skipped, used;  // in draw order
    std::vector<std::uint32_t> rows;
    std::int32_t first = -1;
    for (const Spare& spare : spares) {
      const auto found = rows_of.find(spare.plot);
      if (found == rows_of.end()) {
        waiting.push_back(material.plot(spare.plot).name);
      } else if (!waiting.empty()) {
        skipped = waiting;
        used.push_back(material.plot(spare.plot).name);
        rows.insert(rows.end(), found->second.begin(), found->second.end());
        if (first < 0) first = spare.plot;
      }
    }
    if (used.empty()) continue;
    std::sort(rows.begin(), rows.end());
    findings.add(
        {24, rows, first, ReturnColumn::plot, used.front(),
         fmt::format("{} used before {}. Why {} skipped?", some_of(used), some_of(skipped),
                     skipped.size() == 1 ? fmt::format("was {}", skipped.front()) : std::string("were they")),
         "Send a row with the status of the spare that was passed over."});
  }
}

}  // namespace swardline::return_parts
