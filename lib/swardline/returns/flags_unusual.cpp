// Counts higher than any seen before.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>

#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

// A new highest is nothing unusual: after four seasons every fifth has one.
constexpr double times_the_highest = 2;
constexpr int above_the_highest = 10;
// Where nothing is known, counts are compared with their like by logarithms, in which clumped counts are
// nearly even; the median absolute deviation is not moved by the odd one itself (Hampel 1974, from memory).
constexpr std::size_t least_finds = 10;
constexpr double deviations = 5;
constexpr double least_spread = 0.4;  // of logarithms, that of even stands
constexpr int least_count = 20;

struct Limit {
  double most = 0;
  std::string words;
};

class Unusual {
 public:
  Unusual(const Material& material, Findings& findings) : material_(material), findings_(findings) {
    for (const ExpectedPlot& plot : material.expected.plots) {
      stratum_.push_back(index_of(strata_, plot.stratum));
      site_.push_back(index_of(sites_, plot.site));
    }
    for (const auto& [site, index] : sites_) site_names_.push_back(&site);
    std::vector<const std::string*> by_index(sites_.size());
    for (const auto& [site, index] : sites_) by_index[std::size_t(index)] = &site;
    site_names_ = by_index;
  }

  void look() {
    each([&](const Visit& visit, std::uint32_t r) { judge(visit, r); });
    for (auto& [key, group] : unknown_) judge(group);
  }

 private:
  struct Group {
    std::vector<std::pair<std::uint32_t, std::uint32_t>> rows;  ///< visit and row
  };
  using Index = std::map<std::string, int>;
  static int index_of(Index& index, const std::string& name) {
    return index.try_emplace(name, int(index.size())).first->second;
  }

  template <typename Use>
  void each(const Use& use) {
    for (const Visit& visit : material_.visits)
      for (const std::uint32_t r : material_.rows(visit)) {
        const ReturnRow& row = material_.row(r);
        if (row.stems > 0 && has_count(row, visit) && !findings_.any_open(r, {10, 21, 23})) use(visit, r);
      }
  }

  void judge(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    const std::optional<Limit>& limit = limit_of(site_[std::size_t(visit.plot)], row.species);
    if (!limit)
      unknown_[{row.species, stratum_[std::size_t(visit.plot)]}].rows.emplace_back(
          std::uint32_t(&visit - material_.visits.data()), r);
    else if (row.stems > limit->most)
      say(visit, r, limit->words);
  }

  /// By the plan's limits, then by earlier seasons; none where neither knows.
  const std::optional<Limit>& limit_of(int site, std::int32_t species) {
    const auto [found, fresh] = limits_.try_emplace({site, species});
    if (!fresh) return found->second;
    const std::string& code = material_.sheet(species).code;
    const std::string& name = *site_names_[std::size_t(site)];
    const auto& most = material_.season.plan.returns.most;
    auto stated = most.find(name + " " + code);
    if (stated == most.end()) stated = most.find(code);
    if (stated != most.end()) {
      found->second = Limit{double(stated->second), fmt::format("the plan's most is {}", stated->second)};
    } else if (const auto earlier = material_.expected.highest.find({name, code});
               earlier != material_.expected.highest.end()) {
      const EarlierHighest& highest = earlier->second;
      found->second =
          Limit{std::max(times_the_highest * highest.stems, double(highest.stems + above_the_highest)),
                fmt::format("the highest here in {} is {}",
                            counted_words(std::size_t(highest.seasons), "earlier season", "earlier seasons"),
                            highest.stems)};
    }
    return found->second;
  }

  void judge(const Group& group) {
    if (group.rows.size() < least_finds) return;
    std::vector<double> logs, departures;
    for (const auto& [visit, r] : group.rows) logs.push_back(std::log(double(material_.row(r).stems)));
    const double middle = median(logs);
    for (const double value : logs) departures.push_back(std::abs(value - middle));
    const double spread = std::max(least_spread, 1.4826 * median(departures));
    const double most = std::max(std::exp(middle + deviations * spread), double(least_count));
    for (const auto& [visit, r] : group.rows)
      if (material_.row(r).stems > most)
        say(material_.visits[visit], r,
            fmt::format(
                "half of the {} finds of this stratum are {:.0f} or fewer, and by their spread more than "
                "{:.0f} would be rare",
                group.rows.size(), std::exp(middle), most));
  }

  void say(const Visit& visit, std::uint32_t r, const std::string& compared) {
    const ReturnRow& row = material_.row(r);
    findings_.add({20,
                   {&r, 1},
                   visit.plot,
                   ReturnColumn::flowering_stems,
                   fmt::format("{}", row.stems),
                   fmt::format("{}, {}: {} stems; {}. Not removed.", material_.plot(visit.plot).name,
                               short_name(material_.sheet(row.species)), row.stems, compared),
                   "Please confirm."});
  }

  const Material& material_;
  Findings& findings_;
  Index strata_, sites_;
  std::vector<const std::string*> site_names_;
  std::vector<int> stratum_, site_;  ///< by plot
  std::map<std::pair<int, std::int32_t>, std::optional<Limit>> limits_;
  std::map<std::pair<std::int32_t, int>, Group> unknown_;  ///< by species and stratum
};

}  // namespace

void check_unusual(const Material& material, Findings& findings) { Unusual(material, findings).look(); }

}  // namespace swardline::return_parts
