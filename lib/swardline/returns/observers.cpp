#include "swardline/returns/observers.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <set>
#include <tuple>

#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline {
namespace {

using return_parts::Material;
using return_parts::Visit;

// A wrong answer may be a slip of the pen; two of ten are not.
constexpr int wrong_answers = 2;
constexpr double wrong_share = 0.1;
constexpr int mixed_plots = 2;
constexpr double ratio_matters = 0.1;  // a tenth more or less than others changes no decision

/// Sums over plots that an observer and another counted.
struct PairSums {
  std::vector<std::pair<double, double>> plots;  ///< own, other's
};

std::optional<RecountRatio> ratio_of(const PairSums& sums, double confidence) {
  double own = 0, other = 0;
  for (const auto& [mine, theirs] : sums.plots) {
    own += mine;
    other += theirs;
  }
  if (other <= 0) return {};
  RecountRatio ratio{int(sums.plots.size()), own / other, {}, {}};
  const double n = double(sums.plots.size());
  if (n < 3 || own <= 0) return ratio;
  double squares = 0;
  for (const auto& [mine, theirs] : sums.plots) squares += std::pow(mine - ratio.ratio * theirs, 2);
  const double relative = std::sqrt(n * squares / (n - 1)) / other / ratio.ratio;
  const boost::math::students_t distribution(n - 1);
  const double t = boost::math::quantile(distribution, (1 + confidence) / 2);
  const double factor = std::exp(t * std::sqrt(std::log1p(relative * relative)));
  ratio.low = ratio.ratio / factor;
  ratio.high = ratio.ratio * factor;
  return ratio;
}

class Observers {
 public:
  Observers(const Material& material, const std::vector<ReturnFlag>& flags,
            const std::vector<NameTest>& tests)
      : material_(material), flags_(flags), use_(use_of_rows(material.returns, flags)) {
    for (const auto& [id, record] : material.expected.observers) of(id);
    counts();
    recounts();
    open_questions();
    for (const NameTest& test : tests) take(test);
  }

  ObserversReport report(double confidence) {
    ObserversReport report;
    report.confidence = confidence;
    for (auto& [id, work] : observers_) {
      ObserverSummary& summary = work.summary;
      summary.plots = int(work.plots.size());
      summary.ratio = ratio_of(work.sums, confidence);
      for (const auto& [pair, named] : work.mixed)
        if (named.shown != named.named) summary.mixed_up.push_back(named);
      second_look(work);
      report.observers.push_back(std::move(summary));
    }
    for (const auto& [pair, named] : names_) report.names.push_back(named);
    return report;
  }

 private:
  using Pairs = std::map<std::pair<std::string, std::string>, NamedFor>;
  struct Work {
    ObserverSummary summary;
    std::set<std::int32_t> plots;
    PairSums sums;
    Pairs mixed;
    std::set<std::string> not_passed;
    std::vector<std::string> habits;
  };

  Work& of(const std::string& id) {
    const auto [found, fresh] = observers_.try_emplace(id);
    if (fresh) {
      ObserverSummary& summary = found->second.summary;
      summary.id = id;
      const auto& listed = material_.expected.observers;
      const auto record = listed.find(id);
      summary.listed = listed.empty() || record != listed.end();
      if (record != listed.end()) summary.team = record->second.team;
    }
    return found->second;
  }

  [[nodiscard]] bool usable(const Visit& visit, std::uint32_t r) const {
    return use_[r] != Use::cannot_be_used && return_parts::has_count(material_.row(r), visit);
  }

  void counts() {
    for (const Visit& visit : material_.visits) {
      if (visit.observer < 0) continue;
      Work& work = of(material_.returns.texts.text(visit.observer));
      bool any = false;
      for (const std::uint32_t r : material_.rows(visit)) {
        if (!usable(visit, r)) continue;
        any = true;
        ++work.summary.rows;
        work.summary.zeros += material_.row(r).stems == 0 ? 1 : 0;
      }
      if (!any) continue;
      ++work.summary.visits;
      work.plots.insert(visit.plot);
    }
  }

  /// Stems by species on a visit.
  [[nodiscard]] std::map<std::int32_t, int> stems(const Visit& visit) const {
    std::map<std::int32_t, int> stems;
    for (const std::uint32_t r : material_.rows(visit))
      if (usable(visit, r)) stems[material_.row(r).species] += material_.row(r).stems;
    return stems;
  }

  void recounts() {
    const std::vector<Visit>& visits = material_.visits;
    for (std::size_t begin = 0; begin < visits.size();) {
      std::size_t end = begin + 1;
      while (end < visits.size() && visits[end].plot == visits[begin].plot) ++end;
      for (std::size_t i = begin; i < end; ++i)
        for (std::size_t j = i + 1; j < end; ++j)
          // Two of a plot, seldom three: never a long list against itself.
          if (j - i <= 4 && visits[i].observer >= 0 && visits[j].observer >= 0 &&
              visits[i].observer != visits[j].observer)
            compare(visits[i], visits[j]);
      begin = end;
    }
  }

  void compare(const Visit& one, const Visit& two) {
    const std::map<std::int32_t, int> first = stems(one), second = stems(two);
    double of_first = 0, of_second = 0;
    bool any = false;
    for (const auto& [species, count] : first)
      if (const auto other = second.find(species); other != second.end()) {
        any = true;
        of_first += count;
        of_second += other->second;
      }
    Work& a = of(material_.returns.texts.text(one.observer));
    Work& b = of(material_.returns.texts.text(two.observer));
    if (any) {
      a.sums.plots.emplace_back(of_first, of_second);
      b.sums.plots.emplace_back(of_second, of_first);
    }
    for (std::size_t s = 0; s < material_.season.sheets.size(); ++s)
      for (std::size_t other = 0; other < material_.season.sheets.size(); ++other) {
        if (s == other || !look_alikes(s, other)) continue;
        // One found the first and not the second, the other the second and not the first.
        if (found(first, s) && !found(first, other) && found(second, other) && !found(second, s)) {
          mixed(a, code(other), code(s));
          mixed(b, code(s), code(other));
          ++names_entry(code(s), code(other)).plots;
        }
      }
  }

  static bool found(const std::map<std::int32_t, int>& stems, std::size_t species) {
    const auto at = stems.find(std::int32_t(species));
    return at != stems.end() && at->second > 0;
  }
  [[nodiscard]] const std::string& code(std::size_t sheet) const {
    return material_.season.sheets[sheet].code;
  }
  [[nodiscard]] bool look_alikes(std::size_t a, std::size_t b) const {
    const auto names = [&](std::size_t of, std::size_t other) {
      const auto& list = material_.season.sheets[of].look_alikes;
      return std::any_of(list.begin(), list.end(),
                         [&](const LookAlike& one) { return one.of == code(other); });
    };
    return names(a, b) || names(b, a);
  }
  static void mixed(Work& work, const std::string& shown, const std::string& named) {
    NamedFor& entry = work.mixed[{shown, named}];
    entry.shown = shown;
    entry.named = named;
    ++entry.plots;
  }
  NamedFor& names_entry(const std::string& shown, const std::string& named) {
    NamedFor& entry = names_[{shown, named}];
    entry.shown = shown;
    entry.named = named;
    return entry;
  }

  void open_questions() {
    for (const ReturnFlag& flag : flags_) {
      if (flag.settled) continue;
      if (flag.check == 25) of(flag.value).habits.push_back(flag.reason);
      if (flag.severity == Severity::note) continue;
      std::set<std::int32_t> whose;
      for (const RowAt& at : flag.rows) {
        const std::int32_t row = row_of(at);
        if (row >= 0 && material_.row(std::uint32_t(row)).observer >= 0)
          whose.insert(material_.row(std::uint32_t(row)).observer);
        if (row >= 0 && flag.check == 19 && material_.row(std::uint32_t(row)).species >= 0 &&
            !flag.value.empty())
          of(flag.value)
              .not_passed.insert(short_name(material_.sheet(material_.row(std::uint32_t(row)).species)));
      }
      for (const std::int32_t who : whose) {
        ObserverSummary& summary = of(material_.returns.texts.text(who)).summary;
        ++(flag.severity == Severity::stop ? summary.stops : summary.asks);
      }
    }
  }

  [[nodiscard]] std::int32_t row_of(const RowAt& at) const {
    const std::vector<ReturnRow>& rows = material_.returns.rows;
    const auto found = std::lower_bound(rows.begin(), rows.end(), at,
                                        [](const ReturnRow& row, const RowAt& a) { return row.at < a; });
    return found == rows.end() || found->at != at ? -1 : std::int32_t(found - rows.begin());
  }

  void take(const NameTest& test) {
    Work& work = of(test.observer);
    ++work.summary.tests;
    work.summary.right += test.shown == test.named ? 1 : 0;
    NamedFor& entry = work.mixed[{test.shown, test.named}];
    entry.shown = test.shown;
    entry.named = test.named;
    ++entry.tests;
    ++names_entry(test.shown, test.named).tests;
  }

  void second_look(Work& work) const {
    ObserverSummary& summary = work.summary;
    std::vector<std::string>& why = summary.second_look;
    if (!summary.listed && summary.rows > 0) why.emplace_back("is not on the list of observers");
    if (summary.listed && !work.not_passed.empty())
      why.push_back("recorded " + some_of({work.not_passed.begin(), work.not_passed.end()}) +
                    " without having passed the test");
    std::map<std::string, int> shown;
    for (const auto& [pair, named] : work.mixed) shown[named.shown] += named.tests;
    for (const NamedFor& named : summary.mixed_up) {
      if (named.tests >= wrong_answers && named.tests > wrong_share * shown[named.shown])
        why.push_back(fmt::format("called {} {} in {} of {} tests", named.shown,
                                  named.named.empty() ? "nothing" : named.named, named.tests,
                                  shown[named.shown]));
      if (named.plots >= mixed_plots)
        why.push_back(fmt::format("found {} on {} plots where another found {}", named.named, named.plots,
                                  named.shown));
    }
    if (const auto& ratio = summary.ratio; ratio && ratio->low && (*ratio->low > 1 || *ratio->high < 1) &&
                                           std::abs(ratio->ratio - 1) > ratio_matters)
      why.push_back(
          fmt::format("counts {:.2f} times what others count on the same {} plots ({:.2f} to {:.2f})",
                      ratio->ratio, ratio->plots, *ratio->low, *ratio->high));
    for (const std::string& habit : work.habits) why.push_back(habit);
  }

  const Material& material_;
  const std::vector<ReturnFlag>& flags_;
  std::vector<Use> use_;
  std::map<std::string, Work> observers_;
  Pairs names_;
};

std::string line_of(const ObserverSummary& one, double confidence) {
  std::string line = fmt::format("observer {}", one.id);
  if (!one.team.empty()) line += fmt::format(" (team {})", one.team);
  line += fmt::format(": {}, {}, {}", counted_words(std::size_t(one.plots), "plot", "plots"),
                      counted_words(std::size_t(one.visits), "visit", "visits"),
                      counted_words(std::size_t(one.rows), "count", "counts"));
  if (one.rows > 0) line += fmt::format(", {:.0f} % zeros", 100.0 * one.zeros / one.rows);
  if (one.ratio) {
    line += fmt::format("; {:.2f} times others' counts on {}", one.ratio->ratio,
                        counted_words(std::size_t(one.ratio->plots), "plot", "plots"));
    line += one.ratio->low ? fmt::format(" ({:.0f} % limits {:.2f} to {:.2f}, log-based, ratio of sums)",
                                         100 * confidence, *one.ratio->low, *one.ratio->high)
                           : std::string(" (too few for limits)");
  }
  if (one.tests > 0) line += fmt::format("; {} of {} test answers right", one.right, one.tests);
  if (one.stops + one.asks > 0) line += fmt::format("; open: {} STOP, {} ASK", one.stops, one.asks);
  return line + '.';
}

}  // namespace

ObserversReport report_of_observers(const Season& season, const Expected& expected, const Returns& returns,
                                    const std::vector<ReturnFlag>& flags,
                                    const std::vector<NameTest>& tests) {
  const CellText none = [](const RowAt&, ReturnColumn) { return std::string(); };
  const Material material = return_parts::material_of(season, expected, returns, none);
  return Observers(material, flags, tests).report(season.plan.estimate.confidence);
}

std::vector<std::string> in_words(const ObserversReport& report) {
  std::vector<std::string> lines;
  for (const ObserverSummary& one : report.observers) {
    lines.push_back(line_of(one, report.confidence));
    for (const std::string& why : one.second_look) lines.push_back("  second look needed: " + why);
  }
  for (const NamedFor& named : report.names) {
    if (named.shown == named.named) continue;
    std::vector<std::string> where;
    if (named.tests > 0)
      where.push_back(counted_words(std::size_t(named.tests), "test answer", "test answers"));
    if (named.plots > 0)
      where.push_back(counted_words(std::size_t(named.plots), "recounted plot", "recounted plots"));
    lines.push_back(fmt::format("{} taken for {}: {}.", named.shown,
                                named.named.empty() ? "nothing known" : named.named, in_words(where)));
  }
  return lines;
}

}  // namespace swardline
