// Plot names that are none: unknown, with a wrong check letter, or turned into something else by software.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <tuple>

#include "swardline/base/check_letter.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/returns/plot_names.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

// So many different names that are none are no slips of hand: the wrong column, or another season's forms.
constexpr std::size_t most_guessed = 20000;
constexpr std::size_t most_damaged_guessed = 100;

/// Rows with one text in the column plot, of one sheet: one slip.
using Group = std::tuple<std::uint32_t, std::int32_t, std::string>;
using Groups = std::map<Group, std::vector<std::uint32_t>>;

bool has_fix(const ReturnRow& row) { return std::isfinite(row.lat) && std::isfinite(row.lon); }

/// A whole number in the range of days that spreadsheets count from 1900, of the years 2000 to 2099.
bool is_day_number(std::string_view text) {
  if (text.size() != 5 || !std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; }))
    return false;
  return text >= "36526" && text <= "73050";
}

class Names {
 public:
  Names(const Material& material, Findings& findings)
      : material_(material), findings_(findings), names_(material.expected.plots) {}

  void look_at(const std::string& text, const std::vector<std::uint32_t>& rows) {
    if (damaged(text))
      say_damaged(text, rows);
    else if (!say_letter(text, rows))
      say_unknown(text, rows);
  }

 private:
  [[nodiscard]] bool damaged(const std::string& text) const {
    return spreadsheet_misreads(text) || (names_.all_have_letters() && is_day_number(text));
  }

  void add(int check, const std::vector<std::uint32_t>& rows, const std::string& text, std::string reason,
           std::string next_step) {
    findings_.add({check, rows, -1, ReturnColumn::plot, text, std::move(reason), std::move(next_step)});
  }

  /// "5-Mar" was MAR05 and a letter, "1.00E+05" was 1E05.
  [[nodiscard]] std::vector<std::string> before_damage(const std::string& text) const {
    std::string letters, digits;
    for (const char c : upper_ascii(text)) {
      if (c >= 'A' && c <= 'Z') letters += c;
      if (c >= '0' && c <= '9') digits += c;
    }
    if (letters.size() < 3 || digits.empty() || digits.size() > 2) return {};
    if (digits.size() == 1) digits.insert(0, 1, '0');
    return names_of(names_.beginning(letters.substr(0, 3) + digits, 3));
  }

  [[nodiscard]] std::vector<std::string> names_of(const std::vector<std::int32_t>& plots) const {
    std::vector<std::string> names;
    for (const std::int32_t plot : plots) names.push_back(material_.plot(plot).name);
    return names;
  }

  void say_damaged(const std::string& text, const std::vector<std::uint32_t>& rows) {
    // Looking for what it was goes through all names.
    const std::vector<std::string> was =
        ++damaged_ > most_damaged_guessed ? std::vector<std::string>() : before_damage(text);
    add(26, rows, text,
        fmt::format("{}: '{}' in the plot column is no plot name: opened in a spreadsheet?{}",
                    capital(material_.place(rows.front())), text,
                    was.empty() ? "" : fmt::format(" It may have been {}.", in_words(was))),
        "Send the original.");
  }

  /// A name whose letter does not fit its number: which letter would, and which numbers the letter fits.
  bool say_letter(const std::string& text, const std::vector<std::uint32_t>& rows) {
    const PlotNames::Parts parts = names_.parts_of(text);
    if (parts.stem.empty() || check_letter(parts.body()) == parts.letter) return false;
    std::vector<std::int32_t> could_be;
    if (const std::int32_t plot = names_.find(parts.body() + check_letter(parts.body())); plot >= 0)
      could_be.push_back(plot);
    for (const PlotNames::Near& near : names_.near(text)) {
      const std::string& name = material_.plot(near.plot).name;
      const bool same_letter = name.back() == parts.letter && name.starts_with(parts.stem);
      if (same_letter && near.edits == 1) could_be.push_back(near.plot);
    }
    if (could_be.empty()) return false;
    put_nearest_first(could_be, rows.front());
    constexpr std::size_t most_named = 4;
    if (could_be.size() > most_named) could_be.resize(most_named);
    add(2, rows, text,
        fmt::format("{}: letter {} does not fit {}. {}?", text, parts.letter, parts.number,
                    one_of(could_be, rows.front())),
        "Look at the sheet, then correct the plot.");
    return true;
  }

  void say_unknown(const std::string& text, const std::vector<std::uint32_t>& rows) {
    const std::uint32_t first = rows.front();
    if (text.empty()) {
      add(1, rows, text,
          fmt::format("{} names no plot.{}", capital(material_.place(first)), by_fix(first, -1)),
          "Fill in the plot, or leave the row out.");
      return;
    }
    const std::int32_t nearest = guess(text, first);
    std::string words = fmt::format("{}: no plot named '{}'.", capital(material_.place(first)), text);
    if (nearest >= 0) words += fmt::format(" Nearest: {}.", with_distance(nearest, first));
    words += by_fix(first, nearest);
    add(1, rows, text, std::move(words), "Confirm or correct.");
  }

  /// By name, and among equally near names by the fix.
  std::int32_t guess(const std::string& text, std::uint32_t row) {
    if (const std::int32_t plot = names_.completed(text); plot >= 0) return plot;
    if (++guessed_ > most_guessed) return -1;
    const std::vector<PlotNames::Near> near = names_.near(text);
    std::vector<std::int32_t> best;
    for (const PlotNames::Near& one : near)
      if (one.edits == near.front().edits) best.push_back(one.plot);
    put_nearest_first(best, row);
    return best.empty() ? -1 : best.front();
  }

  void put_nearest_first(std::vector<std::int32_t>& plots, std::uint32_t row) const {
    if (!has_fix(material_.row(row))) return;
    std::stable_sort(plots.begin(), plots.end(),
                     [&](std::int32_t a, std::int32_t b) { return metres_to(a, row) < metres_to(b, row); });
  }

  [[nodiscard]] double metres_to(std::int32_t plot, std::uint32_t row) const {
    return material_.places.from_plot(plot, material_.row(row).lat, material_.row(row).lon).metres();
  }

  [[nodiscard]] std::string with_distance(std::int32_t plot, std::uint32_t row) const {
    const std::string& name = material_.plot(plot).name;
    if (!has_fix(material_.row(row))) return name;
    return fmt::format("{} ({} from your fix)", name, metres_in_words(metres_to(plot, row)));
  }

  [[nodiscard]] std::string one_of(const std::vector<std::int32_t>& plots, std::uint32_t row) const {
    std::string words;
    for (std::size_t i = 0; i < plots.size(); ++i)
      words += (i == 0 ? "" : i + 1 == plots.size() ? " or " : ", ") + with_distance(plots[i], row);
    return words;
  }

  /// The plot at the fix, where that is another than the name would have it.
  [[nodiscard]] std::string by_fix(std::uint32_t row, std::int32_t named) const {
    const ReturnRow& at = material_.row(row);
    if (!has_fix(at)) return {};
    const NearPlot near = material_.places.nearest(at.lat, at.lon);
    const double accuracy = std::isfinite(at.fix_accuracy_m) ? at.fix_accuracy_m : 0;
    if (near.plot < 0 || near.plot == named || near.metres > material_.season.plan.returns.far_m + accuracy)
      return {};
    return fmt::format(" {} from your fix is {}.", metres_in_words(near.metres),
                       material_.plot(near.plot).name);
  }

  static std::string capital(std::string words) {
    if (words.starts_with("row")) words[0] = 'R';
    return words;
  }

  const Material& material_;
  Findings& findings_;
  PlotNames names_;
  std::size_t guessed_ = 0, damaged_ = 0;
};

}  // namespace

void check_names(const Material& material, Findings& findings) {
  Groups groups;
  const std::vector<ReturnRow>& rows = material.returns.rows;
  for (std::uint32_t i = 0; i < rows.size(); ++i)
    if (rows[i].plot < 0 && !rows[i].left_out)
      groups[{rows[i].at.file, rows[i].sheet, material.text(i, ReturnColumn::plot)}].push_back(i);
  if (groups.empty()) return;
  Names names(material, findings);
  for (const auto& [group, of_group] : groups) names.look_at(std::get<2>(group), of_group);
}

}  // namespace swardline::return_parts
