// Estimates for the terminal: a table a species, and beneath it what a reader must know.
#include <fmt/format.h>

#include <algorithm>
#include <map>

#include "swardline/base/text.hpp"
#include "swardline/estimate/estimates.hpp"
#include "swardline/estimate/rounding.hpp"
#include "swardline/estimate/season_parts.hpp"

namespace swardline {
namespace {

constexpr std::size_t most_lines = 40;  // of one list; the files hold the rest

std::string percent(double share) { return fmt::format("{:.0f} %", 100 * share); }

/// A table of text: the first column to the left, the others to the right.
class Lines {
 public:
  void add(std::vector<std::string> row) { rows_.push_back(std::move(row)); }
  [[nodiscard]] std::size_t size() const { return rows_.size(); }
  [[nodiscard]] std::string text() const {
    std::vector<std::size_t> widths(rows_.front().size(), 0);
    for (const auto& row : rows_)
      for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], letters(row[i]));
    std::string out;
    for (const auto& row : rows_) {
      std::string line;
      for (std::size_t i = 0; i < row.size(); ++i) {
        const std::string blanks(widths[i] - letters(row[i]), ' ');
        line += (i == 0 ? "  " + row[i] + blanks : "  " + blanks + row[i]);
      }
      out += line.substr(0, line.find_last_not_of(' ') + 1) + "\n";
    }
    return out;
  }

 private:
  static std::size_t letters(const std::string& text) {
    return std::size_t(std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
  }
  std::vector<std::vector<std::string>> rows_;
};

std::string limits_said(const EstimateRow& row, bool share = false) {
  if (!row.low || !row.high) return "-";
  const double unit = share ? 100 : 1;
  const LowHigh limits{*row.low * unit, *row.high * unit};
  if (row.limits_kind.rfind("nothing found", 0) == 0) return "under " + said_multiple(limits.high);
  return said_limits(limits, row.limits_kind == "symmetric", row.standard_error.value_or(0));
}

std::string mark_of(const EstimateRow& row) {
  if (row.limits_kind == "negative binomial likelihood") return " c";
  if (row.limits_kind == "weighted events") return " e";
  if (row.limits_kind == "symmetric") return " s";
  return "";
}

/// A species' rows by place, in their order.
struct PlaceLine {
  const EstimateRow* density = nullptr;
  const EstimateRow* total = nullptr;
  const EstimateRow* share = nullptr;
};

class SpeciesWords {
 public:
  SpeciesWords(const Estimates& all, const std::string& species) : all_(all), species_(species) {}

  std::string text() {
    std::string out =
        fmt::format("{}: flowering stems, {} % limits\n", species_, shortest(100 * all_.confidence));
    const std::string table = table_of("", false);
    if (table.empty()) return out + notes() + ground();
    out += table;
    for (const auto& [names, symmetric] :
         std::initializer_list<std::pair<const char*, bool>>{{", sure + not certain", false}, {"", true}}) {
      const std::string more = table_of(names, symmetric);
      if (more.empty()) continue;
      out += symmetric ? " the same with symmetric limits:\n" : " sure + not certain (above: sure only):\n";
      out += more;
    }
    return out + legend() + beside() + notes() + ground();
  }

 private:
  std::string table_of(const std::string& names, bool symmetric) {
    Lines lines;
    lines.add({"", all_.unit, "occupied", "stems/ha", "SE", "limits", "total", "SE", "df"});
    std::size_t left_out = 0;
    std::vector<std::string> keys;
    std::map<std::string, PlaceLine> by_place;
    for (const EstimateRow& row : all_.rows) {
      if (row.species != species_ || (row.limits_kind == "symmetric") != symmetric) continue;
      if (row.beside) continue;
      const std::string key = row.stratum.empty() ? row.where : row.stratum;
      PlaceLine* line = nullptr;
      if (row.measure == "stems per ha" + names) {
        if (by_place.count(key) == 0) keys.push_back(key);
        by_place[key].density = &row;
      } else if (row.measure == "total stems" + names) {
        line = &by_place[key];
        line->total = &row;
      } else if (row.measure == "occupied share" + names) {
        line = &by_place[key];
        line->share = &row;
      }
    }
    for (const std::string& key : keys) {
      const PlaceLine& line = by_place[key];
      if (lines.size() > most_lines) {
        ++left_out;
        continue;
      }
      lines.add(row_of(key, line));
    }
    if (lines.size() < 2) return {};
    std::string out = lines.text();
    if (left_out > 0) out += fmt::format("  … and {} more in estimates.csv\n", left_out);
    return out;
  }

  std::vector<std::string> row_of(const std::string& key, const PlaceLine& line) {
    const EstimateRow& d = *line.density;
    marks_ += mark_of(d);
    by_neighbourhood_ = by_neighbourhood_ || d.estimator.find("neighbourhood") != std::string::npos;
    const double se = d.standard_error.value_or(0);
    const double total_se = line.total != nullptr ? line.total->standard_error.value_or(0) : 0;
    const std::string share = line.share == nullptr    ? "-"
                              : line.share->value == 0 ? "none"
                                                       : percent(line.share->value);
    return {(d.stratum.empty() ? "" : "  ") + key,
            grouped(d.plots),
            share,
            d.value == 0 ? "0" : said_estimate(d.value, se),
            se > 0 ? said_error(se) : "-",
            limits_said(d) + mark_of(d),
            line.total == nullptr    ? "-"
            : line.total->value == 0 ? "0"
                                     : said_estimate(line.total->value, total_se),
            total_se > 0 ? said_error(total_se) : "-",
            d.degrees_freedom ? fmt::format("{:.1f}", *d.degrees_freedom) : "-"};
  }

  [[nodiscard]] std::string legend() const {
    std::string out = "  limits: log-based";
    if (marks_.find(" c") != std::string::npos)
      out += "; c: of clumped counts, negative binomial likelihood (few plots hold it)";
    if (marks_.find(" e") != std::string::npos) out += "; e: of one occupied plot, weighted events";
    if (marks_.find(" s") != std::string::npos) out += "; s: symmetric";
    out += "; under: nothing found, one-sided\n";
    if (by_neighbourhood_)
      out += fmt::format(
          "  SE: neighbourhood variance where every stratum has ten {} or more, else stratified\n",
          all_.unit);
    return out;
  }

  /// What stands beside the headline over all sites.
  [[nodiscard]] std::string beside() const {
    std::string out;
    for (const char* variance : {"stratified variance", "neighbourhood variance"})
      if (const EstimateRow* other = all_.row("all sites", "", species_, "stems per ha", variance))
        if (other->beside && other->standard_error)
          out += fmt::format("  all sites, {}: SE {}/ha\n", variance, said_error(*other->standard_error));
    if (const EstimateRow* land = all_.row("all sites", "", species_, "total stems on accessible land"))
      out +=
          fmt::format("  on accessible land alone: total {}{}\n",
                      said_estimate(land->value, land->standard_error.value_or(0)),
                      land->standard_error ? fmt::format(" (SE {})", said_error(*land->standard_error)) : "");
    if (const EstimateRow* ht = all_.row("all sites", "", species_, "total stems", "Horvitz"))
      out += fmt::format("  Horvitz–Thompson total: {}{}\n",
                         said_estimate(ht->value, ht->standard_error.value_or(0)),
                         ht->standard_error ? fmt::format(" (SE {})", said_error(*ht->standard_error)) : "");
    if (const EstimateRow* ratio = all_.row("all sites", "", species_, "recount ratio"))
      out += fmt::format(
          "  second counts found {:.2f} of the stems of the first on {} plots{}; nothing above is "
          "changed by it\n",
          ratio->value, ratio->plots,
          ratio->low ? fmt::format(" ({:.2f}–{:.2f})", *ratio->low, *ratio->high) : "");
    if (const EstimateRow* two = all_.row("all sites", "", species_, "occupied plots by two observers"))
      out +=
          fmt::format("  of {} recounted plots {} were found to hold it, by two observers about {:.1f} do\n",
                      two->plots, two->occupied, two->value);
    return out;
  }

  [[nodiscard]] std::string notes() const {
    std::string out;
    std::size_t shown = 0, more = 0;
    for (const EstimateNote& note : all_.notes) {
      if (note.species != species_) continue;
      if (shown++ >= most_lines) {
        ++more;
        continue;
      }
      out += fmt::format("  {}: {}.\n", note.where, note.text);
    }
    if (more > 0) out += fmt::format("  … and {} more in estimates.json\n", more);
    return out;
  }

  [[nodiscard]] std::string ground() const {
    std::map<std::string, double> by_reason;
    for (const NotEstimated& one : all_.not_estimated)
      if (one.species == species_) by_reason[one.reason] += one.m2;
    std::string out;
    for (const auto& [reason, m2] : by_reason)
      out += fmt::format("  not estimated: {} {}.\n", hectares(m2), reason);
    by_reason.clear();
    for (const MissingGround& one : all_.missing)
      if (one.species == species_) by_reason[one.reason] += one.m2;
    for (const auto& [reason, m2] : by_reason)
      out += fmt::format("  taken to be like the rest of its stratum: {}, {}.\n", hectares(m2), reason);
    return out;
  }

  const Estimates& all_;
  const std::string& species_;
  std::string marks_;
  bool by_neighbourhood_ = false;
};

std::string headlines(const Estimates& all) {
  std::string out;
  for (const EstimateNote& note : all.notes)
    if (note.needs_person || note.species.empty()) out += fmt::format("{}: {}.\n", note.where, note.text);
  return out;
}

std::string all_ground(const Estimates& all) {
  std::map<std::string, double> reasons;
  std::string out;
  for (const MissingGround& one : all.missing)
    if (one.species.empty() && one.where == "all sites")
      out += fmt::format(
          "Not counted, {}: {} {}, {} ({:.0f} % of the ground that is estimated; estimates take it "
          "to be like the rest of its stratum).\n",
          one.reason, one.plots, one.plots == 1 ? all.unit.substr(0, all.unit.size() - 1) : all.unit,
          hectares(one.m2), 100 * one.share);
  std::map<std::string, int> fates;
  double none_counted = 0;
  for (const NotEstimated& one : all.not_estimated) {
    if (!one.species.empty()) continue;
    for (const auto& [fate, plots] : one.fates) fates[fate] += plots;
    (one.fates.empty() ? reasons[one.reason] : none_counted) += one.m2;
  }
  if (!fates.empty()) reasons[estimate_parts::none_counted_in_words(fates)] = none_counted;
  for (const auto& [reason, m2] : reasons)
    out += fmt::format("No estimate speaks of {}: {}.\n", hectares(m2), reason);
  return out;
}

}  // namespace

std::string in_words(const Estimates& estimates) {
  std::string out = headlines(estimates);
  for (const std::string& species : estimates.species) out += SpeciesWords(estimates, species).text() + "\n";
  out += all_ground(estimates);
  while (!out.empty() && out.back() == '\n') out.pop_back();
  return out;
}

}  // namespace swardline
