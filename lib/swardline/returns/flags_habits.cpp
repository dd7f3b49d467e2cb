// Recording habits that honest counting does not show. Each is named only where it would come about by
// accident less than once in a million observers, with chances taken on the safe side, because a name is
// easily harmed.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <set>
#include <unordered_map>

#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

const double log_by_accident = std::log(1e-6);
constexpr const char* by_accident = "by accident that comes less than once in a million observers";
// Of counts from 10 on every tenth ends in 0; where most lie just above 10, up to every fifth.
constexpr double ends_in_zero = 0.2;
// Minutes of two plots are alike now and then: every fourth time, every second time where clocks are read to
// five minutes.
constexpr double same_minutes = 0.25, same_five_minutes = 0.5;
constexpr std::size_t least_visits = 10;
constexpr std::size_t least_others = 10;  // rows by others that tell how common zeros are
constexpr std::size_t copied_finds = 3;   // on a plot, to be taken for a copy of another's
constexpr double least_alike = 0.02;      // chance that two counts of a species are alike, at least

/// Chance of at least `hits` of n, each with chance p, as a logarithm; the first term and what its ratio to
/// the next allows above it.
double log_tail(std::size_t n, std::size_t hits, double p) {
  const double a = double(n), k = double(hits);
  const double term = std::lgamma(a + 1) - std::lgamma(k + 1) - std::lgamma(a - k + 1) + k * std::log(p) +
                      (a - k) * std::log1p(-p);
  const double ratio = (a - k) / (k + 1) * p / (1 - p);
  return ratio >= 1 ? 0 : term - std::log1p(-ratio);
}

struct Zeros {
  std::size_t rows = 0, zeros = 0;
};

class Habits {
 public:
  Habits(const Material& material, Findings& findings)
      : material_(material), findings_(findings), species_(material.season.sheets.size()) {
    std::map<std::string, std::size_t> strata;
    for (const ExpectedPlot& plot : material.expected.plots)
      stratum_.push_back(strata.try_emplace(plot.stratum, strata.size()).first->second);
    in_stratum_.resize(strata.size() * species_);
    over_all_.resize(species_);
    stems_.resize(species_);
    visits_of_.resize(material.returns.texts.size());
  }

  void look() {
    for (std::uint32_t v = 0; v < material_.visits.size(); ++v) learn(v);
    find_collisions();
    for (std::size_t who = 0; who < visits_of_.size(); ++who) {
      if (visits_of_[who].empty()) continue;
      who_ = &material_.returns.texts.text(std::int32_t(who));
      visits_ = &visits_of_[who];
      tens();
      minutes();
      no_zeros();
      copies();
    }
  }

 private:
  [[nodiscard]] bool counts(const Visit& visit, std::uint32_t r) const {
    return has_count(material_.row(r), visit) && !findings_.any_open(r, {10, 21, 23});
  }
  template <typename Use>
  void each(std::uint32_t v, const Use& use) const {
    const Visit& visit = material_.visits[v];
    for (const std::uint32_t r : material_.rows(visit))
      if (counts(visit, r)) use(r, material_.row(r));
  }
  [[nodiscard]] std::size_t cell(const ReturnRow& row) const {
    return stratum_[std::size_t(row.plot)] * species_ + std::size_t(row.species);
  }

  void learn(std::uint32_t v) {
    bool any = false;
    each(v, [&](std::uint32_t, const ReturnRow& row) {
      any = true;
      for (Zeros* zeros : {&in_stratum_[cell(row)], &over_all_[std::size_t(row.species)]}) {
        ++zeros->rows;
        zeros->zeros += row.stems == 0 ? 1 : 0;
      }
      if (row.stems > 0) ++stems_[std::size_t(row.species)][row.stems];
    });
    const std::int32_t who = material_.visits[v].observer;
    if (any && who >= 0) visits_of_[std::size_t(who)].push_back(v);
  }

  void tens() {
    std::vector<std::uint32_t> rows;
    std::size_t from_ten = 0;
    for (const std::uint32_t v : *visits_)
      each(v, [&](std::uint32_t r, const ReturnRow& row) {
        if (row.stems < 10 || row.method != CountMethod::counted) return;
        ++from_ten;
        if (row.stems % 10 == 0) rows.push_back(r);
      });
    if (rows.empty() || log_tail(from_ten, rows.size(), ends_in_zero) > log_by_accident) return;
    say(rows, ReturnColumn::flowering_stems,
        rows.size() == from_ten ? fmt::format("{} of ten stems or more, all multiples of 10",
                                              counted_words(from_ten, "count", "counts"))
                                : fmt::format("{} of {} of ten stems or more are multiples of 10",
                                              rows.size(), counted_words(from_ten, "count", "counts")),
        "Ask whether stems were counted or guessed; method 'class' is for guesses.");
  }

  void minutes() {
    std::set<std::pair<Day, int>> starts;
    std::vector<std::uint32_t> rows;
    int minutes = 0;
    std::size_t visits = 0;
    bool fives = true;
    for (const std::uint32_t v : *visits_) {
      const std::span<const std::uint32_t> of_visit = material_.rows(material_.visits[v]);
      const ReturnRow& row = material_.row(of_visit.front());
      if (row.start < 0 || row.finish <= row.start) continue;
      // Start and finish of a whole day written beside each plot are no minutes of a plot.
      if (!starts.emplace(row.date, row.start).second) continue;
      if (visits++ == 0) minutes = row.finish - row.start;
      if (row.finish - row.start != minutes) return;
      fives = fives && row.start % 5 == 0;
      rows.insert(rows.end(), of_visit.begin(), of_visit.end());
    }
    if (visits < least_visits) return;
    const double chance = double(visits - 1) * std::log(fives ? same_five_minutes : same_minutes);
    if (chance > log_by_accident) return;
    say(rows, ReturnColumn::finish,
        fmt::format("{}, every one {} long", counted_words(visits, "visit", "visits"),
                    counted_words(std::size_t(minutes), "minute", "minutes")),
        "Ask how the times were written down.");
  }

  void no_zeros() {
    if (visits_->size() < least_visits) return;
    bool zero = false;
    std::map<std::size_t, std::size_t> own, own_over_all;
    std::vector<std::uint32_t> rows;
    for (const std::uint32_t v : *visits_)
      each(v, [&](std::uint32_t r, const ReturnRow& row) {
        zero = zero || row.stems == 0;
        ++own[cell(row)];
        ++own_over_all[std::size_t(row.species)];
        rows.push_back(r);
      });
    if (zero) return;
    double chance = 0;
    for (const std::uint32_t r : rows) {
      const ReturnRow& row = material_.row(r);
      const auto species = std::size_t(row.species);
      Zeros others = in_stratum_[cell(row)];
      others.rows -= own[cell(row)];
      if (others.rows < least_others) {
        others = over_all_[species];
        others.rows -= own_over_all[species];
      }
      if (others.rows < least_others) continue;
      // Half of the share of zeros: plots of one site are alike, and an observer's may be good ones.
      chance += std::log1p(-0.5 * double(others.zeros) / double(others.rows));
    }
    if (chance > log_by_accident) return;
    say(rows, ReturnColumn::flowering_stems,
        fmt::format("{} on {}, not one of them zero, where others found none in many",
                    counted_words(rows.size(), "count", "counts"),
                    counted_words(visits_->size(), "visit", "visits")),
        "Ask whether zeros were written down; without them every mean is too high.");
  }

  void find_collisions() {
    for (const auto& of_species : stems_) {
      double finds = 0, alike = 0;
      for (const auto& [stems, times] : of_species) finds += double(times);
      for (const auto& [stems, times] : of_species) alike += double(times) * double(times);
      alike_.push_back(finds > 0 ? std::max(least_alike, alike / (finds * finds)) : 1);
    }
  }

  /// Plots on which the same species have the same counts.
  void copies() {
    using Finds = std::vector<std::pair<std::int32_t, std::int32_t>>;
    std::map<Finds, std::vector<std::uint32_t>> plots;
    std::size_t full = 0;
    for (const std::uint32_t v : *visits_) {
      Finds finds;
      each(v, [&](std::uint32_t, const ReturnRow& row) {
        if (row.stems > 0) finds.emplace_back(row.species, row.stems);
      });
      if (finds.size() < copied_finds) continue;
      ++full;
      std::sort(finds.begin(), finds.end());
      plots[finds].push_back(v);
    }
    for (const auto& [finds, visits] : plots) {
      std::set<std::int32_t> different;
      for (const std::uint32_t v : visits) different.insert(material_.visits[v].plot);
      if (different.size() < 2) continue;
      double alike = 0;
      for (const auto& [species, stems] : finds) alike += std::log(alike_[std::size_t(species)]);
      const double n = double(full), k = double(different.size());
      const double ways = std::lgamma(n + 1) - std::lgamma(k + 1) - std::lgamma(n - k + 1);
      if (ways + (k - 1) * alike > log_by_accident) continue;
      say_copies(visits, finds.size());
    }
  }

  void say_copies(const std::vector<std::uint32_t>& visits, std::size_t finds) {
    std::vector<std::uint32_t> rows;
    std::vector<std::string> names;
    for (const std::uint32_t v : visits) {
      const std::span<const std::uint32_t> of_visit = material_.rows(material_.visits[v]);
      rows.insert(rows.end(), of_visit.begin(), of_visit.end());
      names.push_back(material_.plot(material_.visits[v].plot).name);
    }
    say(rows, ReturnColumn::flowering_stems,
        fmt::format("{} have the same {} counts: copied rows", some_of(names), finds), "Look at the sheets.");
  }

  void say(std::vector<std::uint32_t>& rows, ReturnColumn column, const std::string& what,
           const char* next_step) {
    std::sort(rows.begin(), rows.end());
    findings_.add({25, rows, -1, column, *who_,
                   fmt::format("observer {}: {} ({}).", *who_, what, by_accident), next_step});
  }

  const Material& material_;
  Findings& findings_;
  std::size_t species_;
  std::vector<std::size_t> stratum_;                                  ///< by plot
  std::vector<Zeros> in_stratum_, over_all_;                          ///< by stratum and species, by species
  std::vector<std::unordered_map<std::int32_t, std::size_t>> stems_;  ///< finds by species and number
  std::vector<double> alike_;                          ///< by species: two finds have one number
  std::vector<std::vector<std::uint32_t>> visits_of_;  ///< by observer's text
  const std::string* who_ = nullptr;
  const std::vector<std::uint32_t>* visits_ = nullptr;
};

}  // namespace

void check_habits(const Material& material, Findings& findings) { Habits(material, findings).look(); }

}  // namespace swardline::return_parts
