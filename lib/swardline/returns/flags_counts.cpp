// Boxes: empty, not a count, or missing where somebody looked.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <tuple>
#include <unordered_set>

#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

std::string squeezed(const std::string& text) {
  std::string out;
  for (const char c : lower_ascii(text))
    if (c != ' ' && c != '\t') out += c;
  return out;
}

/// The answer to an empty box: nobody looked for this species here.
bool says_not_searched(const std::string& text) {
  const std::string word = squeezed(text);
  return word == "notsearched" || word == "notlookedfor";
}

/// "51-100", ">100", "<10": what the method 'class' writes.
bool is_class(const std::string& text) {
  const std::string word = squeezed(text);
  const std::size_t start = word.starts_with(">") || word.starts_with("<") ? 1 : 0;
  const std::size_t dash = word.find('-', start);
  const auto digits = [](std::string_view part) {
    return !part.empty() &&
           std::all_of(part.begin(), part.end(), [](char c) { return c >= '0' && c <= '9'; });
  };
  if (start == 1) return digits(std::string_view(word).substr(1));
  return dash != std::string::npos && digits(std::string_view(word).substr(0, dash)) &&
         digits(std::string_view(word).substr(dash + 1));
}

const char* count_remedy(ReturnColumn column) {
  return column == ReturnColumn::flowering_stems ? "Give the number, or use method 'class'."
                                                 : "Give the number, or leave the box empty.";
}

enum class Box { filled, blank, not_searched, unreadable };

class Counts {
 public:
  Counts(const Material& material, Findings& findings) : material_(material), findings_(findings) {
    searched_at_.assign(material.expected.plots.size(), nullptr);
    for (std::size_t p = 0; p < searched_at_.size(); ++p)
      if (const auto found = material.expected.searched.find(material.expected.plots[p].site);
          found != material.expected.searched.end())
        searched_at_[p] = &found->second;
    for (const ReturnRow& row : material.returns.rows) {
      if (row.species < 0) continue;
      if (row.left_out && row.plot >= 0) left_out_.insert(plot_key(row.plot, row.species));
      if (!row.left_out && row.plot < 0) ++astray_[{row.observer, row.date, row.species}];
    }
  }

  void look() {
    const std::vector<Visit>& visits = material_.visits;
    for (std::size_t begin = 0; begin < visits.size();) {
      std::size_t end = begin + 1;
      while (end < visits.size() && visits[end].plot == visits[begin].plot) ++end;
      look_at_plot(std::span(visits).subspan(begin, end - begin));
      begin = end;
    }
  }

 private:
  void look_at_plot(std::span<const Visit> visits) {
    seen_.assign(material_.season.sheets.size(), 0);
    const Visit* asked = nullptr;  // the visit a missing row is asked of
    bool said = false;
    for (const Visit& visit : visits) {
      said = boxes(visit) || said;
      if (counted_something(visit) && asked == nullptr) asked = &visit;
    }
    if (asked != nullptr && !said) missing(visits, *asked);
  }

  /// Whether somebody stood there and counted, as far as the status goes.
  [[nodiscard]] bool counted_something(const Visit& visit) const {
    for (const std::uint32_t r : material_.rows(visit)) {
      const ReturnRow& row = material_.row(r);
      if (carries_counts(fate_at(row, visit)) && !findings_.open(r, 23)) return true;
    }
    return false;
  }

  Box box_of(std::uint32_t r) const {
    const ReturnRow& row = material_.row(r);
    if (!row.cannot_read(ReturnColumn::flowering_stems)) return row.stems >= 0 ? Box::filled : Box::blank;
    const std::string text = material_.text(r, ReturnColumn::flowering_stems);
    if (says_not_searched(text)) return Box::not_searched;
    return row.method == CountMethod::by_class && is_class(text) ? Box::filled : Box::unreadable;
  }

  /// Whether nothing at all was counted, and that was said.
  bool boxes(const Visit& visit) {
    std::vector<std::uint32_t> blank;
    std::size_t named = 0;
    for (const std::uint32_t r : material_.rows(visit)) {
      const ReturnRow& row = material_.row(r);
      if (row.species >= 0) seen_[std::size_t(row.species)] = 1;
      if (findings_.open(r, 23)) continue;
      not_counts(visit, r);
      if (row.species < 0 || !carries_counts(fate_at(row, visit))) continue;
      ++named;
      const Box box = box_of(r);
      if (box == Box::blank) blank.push_back(r);
      if (box == Box::filled) twice_box(visit, r);
    }
    if (blank.size() == named && named > 1) {
      all_blank(visit, blank);
      return true;
    }
    for (const std::uint32_t r : blank) say_blank(visit, r);
    return false;
  }

  void say_blank(const Visit& visit, std::uint32_t r) {
    findings_.add({8,
                   {&r, 1},
                   visit.plot,
                   ReturnColumn::flowering_stems,
                   "",
                   fmt::format("{}, {}: box empty. Did you look?", material_.plot(visit.plot).name,
                               short_name(material_.sheet(material_.row(r).species))),
                   "0 if none, or 'not searched'."});
  }

  /// The second box of a plot at an edge: empty it could be none or all of the stems. Only said: estimates
  /// count such a plot once, and to keep its finds out while zeros stay in would make the species look rarer.
  void twice_box(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    const ExpectedPlot& plot = material_.plot(visit.plot);
    if (plot.twice_m2 <= 0 || row.stems <= 0 || row.twice_stems >= 0 ||
        row.cannot_read(ReturnColumn::twice_stems))
      return;
    findings_.add(
        {8,
         {&r, 1},
         visit.plot,
         ReturnColumn::twice_stems,
         "",
         fmt::format("{}, {}: {} of the plot count twice, and the second box is empty beside {} stems.",
                     plot.name, short_name(material_.sheet(row.species)),
                     fmt::format("{:.1f} m2", plot.twice_m2), row.stems),
         "Counted once, over what lies inside. Write how many of the stems stood in that zone, 0 if none.",
         true});
  }

  void not_counts(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    if (row.unread != 0)
      for (const ReturnColumn column :
           {ReturnColumn::flowering_stems, ReturnColumn::twice_stems, ReturnColumn::rosettes}) {
        if (!row.cannot_read(column)) continue;
        if (column == ReturnColumn::flowering_stems && box_of(r) != Box::unreadable) continue;
        const std::string text = material_.text(r, column);
        add(visit, r, column, text,
            fmt::format("{}: '{}' in {} is not a count.", name(visit), text, word(column)),
            count_remedy(column));
        return;  // one row, one slip
      }
    if (row.method == CountMethod::unknown) {
      const std::string text = material_.text(r, ReturnColumn::count_method);
      add(visit, r, ReturnColumn::count_method, text,
          fmt::format("{}: '{}' is no way of counting.", name(visit), text),
          "Use counted, half counted or class.");
    } else if (row.stems >= 0 && row.twice_stems > row.stems) {
      add(visit, r, ReturnColumn::twice_stems, fmt::format("{}", row.twice_stems),
          fmt::format("{}: {} stems in the zone that counts twice, of {} in all.", name(visit),
                      row.twice_stems, row.stems),
          "Write all stems in flowering_stems, and of them those in the zone in twice_stems.");
    }
  }

  [[nodiscard]] const std::string& name(const Visit& visit) const { return material_.plot(visit.plot).name; }

  void add(const Visit& visit, std::uint32_t r, ReturnColumn column, std::string value, std::string reason,
           std::string next_step) {
    findings_.add(
        {10, {&r, 1}, visit.plot, column, std::move(value), std::move(reason), std::move(next_step)});
  }

  void all_blank(const Visit& visit, const std::vector<std::uint32_t>& blank) {
    const bool untouched = visit.date == no_day && visit.observer < 0 && visit.fate == Fate::none;
    findings_.add({9, blank, visit.plot, ReturnColumn::flowering_stems, "",
                   untouched
                       ? fmt::format("{} has rows, but no date, no observer and no counts. Was it visited?",
                                     name(visit))
                       : fmt::format("{} was visited {} but has no counts. All zero, or sheet missing?",
                                     name(visit), short_date(visit.date)),
                   untouched ? "Write what became of it in status, or leave its rows out."
                             : "Write 0 where none was found; send the missing rows as a further return."});
  }

  /// Species looked for at the site that no row of the plot names, though somebody was there in their time.
  void missing(std::span<const Visit> visits, const Visit& asked) {
    const std::vector<std::size_t>* searched = searched_at_[std::size_t(asked.plot)];
    if (searched == nullptr) return;
    std::vector<std::string> names;
    for (const std::size_t species : *searched)
      if (seen_[species] == 0 && in_season(visits, species) && !accounted_for(visits, species))
        names.push_back(short_name(material_.season.sheets[species]));
    if (names.empty() || names.size() <= unknown_species(visits)) return;
    const std::span<const std::uint32_t> rows = material_.rows(asked);
    const std::string when = asked.date == no_day ? "" : " " + short_date(asked.date);
    const bool none_at_all = std::find(seen_.begin(), seen_.end(), 1) == seen_.end();
    if (none_at_all)
      findings_.add(
          {9, rows, asked.plot, ReturnColumn::status, "",
           fmt::format("{} was visited{} but has no counts. All zero, or sheet missing?", name(asked), when),
           "Send the missing rows as a further return, 0 where none was found."});
    else
      findings_.add(
          {9, rows.first(1), asked.plot, ReturnColumn::species, some_of(names),
           fmt::format("{} was visited{} but has no row for {}. All zero, or sheet missing?", name(asked),
                       when, some_of(names)),
           "Send the missing rows as a further return, 0 where none was found; the other rows are used."});
  }

  /// A row of the same hand and day whose plot is no plot, or one that a correction left out: its own matter.
  bool accounted_for(std::span<const Visit> visits, std::size_t species) {
    if (left_out_.contains(plot_key(visits.front().plot, std::int32_t(species)))) return true;
    if (astray_.empty()) return false;
    for (const Visit& visit : visits)
      if (const auto found = astray_.find({visit.observer, visit.date, std::int32_t(species)});
          found != astray_.end() && found->second > 0) {
        --found->second;
        return true;
      }
    return false;
  }

  /// Rows of the plot with a species that is none of the season's: check 17 asks of them.
  [[nodiscard]] std::size_t unknown_species(std::span<const Visit> visits) const {
    std::size_t rows = 0;
    for (const Visit& visit : visits)
      for (const std::uint32_t r : material_.rows(visit)) {
        if (material_.row(r).species >= 0) continue;
        const std::string text = material_.text(r, ReturnColumn::species);
        rows += !text.empty() && text.back() != '?' ? 1 : 0;
      }
    return rows;
  }

  static std::uint64_t plot_key(std::int32_t plot, std::int32_t species) {
    return (std::uint64_t(plot) << 32U) | std::uint64_t(std::uint32_t(species));
  }

  /// Somebody was there while the species could be counted.
  [[nodiscard]] bool in_season(std::span<const Visit> visits, std::size_t species) const {
    const Sheet& sheet = material_.season.sheets[species];
    if (!sheet.window) return true;
    return std::any_of(visits.begin(), visits.end(), [&](const Visit& visit) {
      if (!counted_something(visit)) return false;
      if (visit.date == no_day) return true;
      return window_at(*sheet.window, visit.date, material_.season.plan.returns.shift_days).holds(visit.date);
    });
  }

  const Material& material_;
  Findings& findings_;
  std::vector<const std::vector<std::size_t>*> searched_at_;
  std::vector<char> seen_;                      ///< by species, of the plot looked at
  std::unordered_set<std::uint64_t> left_out_;  ///< plot and species
  std::map<std::tuple<std::int32_t, Day, std::int32_t>, std::size_t>
      astray_;  ///< rows by observer, day, species
};

}  // namespace

void check_counts(const Material& material, Findings& findings) { Counts(material, findings).look(); }

}  // namespace swardline::return_parts
