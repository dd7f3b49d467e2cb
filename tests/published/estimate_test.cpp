// Published estimates by strata, of ratios, with unequal chances, and limits of counts. Where a file of
// shared/references is read and that folder is not there, the case is reported as skipped.
#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "swardline/estimate/dispersion.hpp"
#include "swardline/estimate/limits.hpp"
#include "swardline/estimate/stratified.hpp"
#include "swardline/estimate/unequal_chances.hpp"

namespace estimate_test {

using namespace swardline;

namespace {

doctest::Approx within(double value, double relative = 1e-9) {
  return doctest::Approx(value).epsilon(relative);
}

/// Columns of a CSV file by heading; no quoted commas in these files' numbers. Empty where there is no file.
std::map<std::string, std::vector<std::string>> columns_of(const char* name) {
  const char* given = std::getenv("SWARDLINE_SHARED");
  const std::filesystem::path shared = given != nullptr
                                           ? std::filesystem::path(given)
                                           : std::filesystem::path(SWARDLINE_SOURCE_DIR) / ".." / "shared";
  std::ifstream file(shared / "references" / "data" / name);
  std::map<std::string, std::vector<std::string>> columns;
  std::vector<std::string> headings;
  for (std::string line; std::getline(file, line);) {
    std::vector<std::string> cells(1);
    bool quoted = false;
    for (const char c : line) {
      if (c == '"') {
        quoted = !quoted;
      } else if (c == ',' && !quoted) {
        cells.emplace_back();
      } else if (c != '\r') {
        cells.back() += c;
      }
    }
    if (headings.empty()) {
      headings = cells;
    } else {
      for (std::size_t i = 0; i < headings.size(); ++i) columns[headings[i]].push_back(cells.at(i));
    }
  }
  return columns;
}

struct Named {
  std::string name;
  double units = 0;
};

/// One stratum for each name; `area` empty: means per unit.
std::vector<StratumCounts> strata_of(const std::map<std::string, std::vector<std::string>>& table,
                                     const char* by, const char* count, const char* area,
                                     const std::vector<Named>& names) {
  std::vector<StratumCounts> strata;
  for (const Named& named : names) {
    StratumCounts one;
    one.ground = named.units;
    for (std::size_t i = 0; i < table.at(by).size(); ++i) {
      if (table.at(by)[i] != named.name) continue;
      one.counts.push_back(std::stod(table.at(count)[i]));
      if (*area != 0) one.areas.push_back(std::stod(table.at(area)[i]));
    }
    one.share_taken = double(one.counts.size()) / named.units;
    strata.push_back(one);
  }
  return strata;
}

const std::vector<Named> school_kinds = {{"E", 4421}, {"H", 755}, {"M", 1018}};

}  // namespace

TEST_CASE("stratified means and totals of California's schools") {
  // Lumley 2004, Journal of Statistical Software 9(8), and the R package survey's documentation, data set
  // api; values recomputed with R 4.2.2. The file's weights are N/n in single precision, hence 1e-6.
  const auto schools = columns_of("apistrat.csv");
  if (schools.empty()) {
    MESSAGE("skipped: no references/data/apistrat.csv (set SWARDLINE_SHARED)");
    return;
  }
  std::vector<StratumCounts> strata = strata_of(schools, "stype", "api00", "", school_kinds);
  const Stratified score = stratified_ratio(strata);
  CHECK(score.density.value == within(662.287363, 1e-6));
  CHECK(score.density.standard_error() == within(9.408940803, 1e-6));
  const double means[] = {674.43, 625.82, 636.6}, errors[] = {12.38247979, 14.93712919, 16.21470731};
  for (std::size_t h = 0; h < 3; ++h) {
    CHECK(ratio_of_totals(strata[h]).value == within(means[h], 1e-9));
    CHECK(ratio_of_totals(strata[h]).standard_error() == within(errors[h], 1e-8));
  }
  const LowHigh by_t = symmetric_limits(score.density.value, score.density.standard_error(), 197, 0.95);
  CHECK(by_t.low == within(643.732188, 1e-6));
  CHECK(by_t.high == within(680.842538, 1e-6));
  for (StratumCounts& one : strata) one.share_taken = 0;
  CHECK(stratified_ratio(strata).density.standard_error() == within(9.536132297, 1e-6));
  const Stratified pupils = stratified_ratio(strata_of(schools, "stype", "enroll", "", school_kinds));
  CHECK(pupils.total.value == within(3687177.53, 1e-6));
  CHECK(pupils.total.standard_error() == within(114641.716, 1e-6));
}

TEST_CASE("the stratified total of the agricultural census, with Satterthwaite's degrees of freedom") {
  // Lohr 2010, Sampling: Design and Analysis, 2nd ed., example 3.2: 909,736,035 acres, standard error
  // 50,417,248; means, variances and df recomputed in R and numpy.
  const auto counties = columns_of("agstrat.csv");
  if (counties.empty()) {
    MESSAGE("skipped: no references/data/agstrat.csv (set SWARDLINE_SHARED)");
    return;
  }
  const std::vector<Named> regions = {{"NE", 220}, {"NC", 1054}, {"S", 1382}, {"W", 422}};
  const Stratified acres = stratified_ratio(strata_of(counties, "region", "acres92", "", regions));
  CHECK(acres.total.value == within(909736035.39));
  CHECK(acres.total.standard_error() == within(50417248.25));
  CHECK(acres.density.value == within(295560.7652));
  CHECK(acres.density.standard_error() == within(16379.8727, 1e-8));
  CHECK(acres.total.df == within(99.918834, 1e-7));
  const LowHigh limits =
      symmetric_limits(acres.total.value, acres.total.standard_error(), acres.total.df, 0.95);
  CHECK(std::abs(limits.low - 809708656) < 1);
  CHECK(std::abs(limits.high - 1009763415) < 1);
}

TEST_CASE("a small stratified sample") {
  // Thompson 2002, Sampling, 2nd ed., chapter on stratified sampling, example 1; inputs from memory,
  // recomputed: N = 20, 9, 12; n = 5, 3, 5; means 1.6, 2.8, 0.6; variances 3.3, 4.0, 2.2. Counts are made to
  // have them.
  const auto made = [](double units, int n, double mean, double variance) {
    StratumCounts one;
    one.ground = units;
    one.counts.assign(std::size_t(n), mean);
    const double off = std::sqrt(variance * (n - 1) / 2);
    one.counts[0] += off;
    one.counts[1] -= off;
    one.share_taken = n / units;
    return one;
  };
  const Stratified all =
      stratified_ratio(std::vector{made(20, 5, 1.6, 3.3), made(9, 3, 2.8, 4.0), made(12, 5, 0.6, 2.2)});
  CHECK(all.total.value == within(64.4));
  CHECK(all.total.variance == within(306.96));
  CHECK(all.density.value == within(1.5707317, 1e-7));
  CHECK(all.density.standard_error() == within(0.4273238, 1e-6));
  CHECK(all.total.df == within(7.3991413, 1e-7));
  CHECK(student_t(0.95, all.total.df) == within(2.33901003, 1e-7));
}

TEST_CASE("ratios: over strata, and of transects of unequal area") {
  // Formula: Cochran 1977, 6.4; numbers own, recomputed in R.
  StratumCounts lines;
  lines.ground = 40;
  lines.counts = {6, 9, 4, 12, 15, 7};
  lines.areas = {10, 15, 8, 20, 25, 12};
  lines.share_taken = 6.0 / 40;
  CHECK(ratio_of_totals(lines).value == within(0.588888889));
  CHECK(ratio_of_totals(lines).standard_error() == within(0.0092317616, 1e-8));
  // R package survey, documentation of svyratio: api.stu / enroll of the schools above.
  const auto schools = columns_of("apistrat.csv");
  if (schools.empty()) {
    MESSAGE("skipped: no references/data/apistrat.csv (set SWARDLINE_SHARED)");
    return;
  }
  std::vector<StratumCounts> strata = strata_of(schools, "stype", "api.stu", "", school_kinds);
  const std::vector<StratumCounts> pupils = strata_of(schools, "stype", "enroll", "", school_kinds);
  for (std::size_t h = 0; h < 3; ++h) strata[h].over = pupils[h].counts;
  const Stratified ratio = combined_ratio(strata);
  CHECK(ratio.density.value == within(0.836956887, 1e-8));
  CHECK(ratio.density.standard_error() == within(0.00775710317, 1e-6));
}

TEST_CASE("the supermarkets: unequal chances without replacement") {
  // Lohr 2010, chapter 6: sizes 1, 2, 3, 10 of 16, y 11, 20, 24, 245, two drawn one after the other; joint
  // chances .0173 … .4567, variance 4383.6. From memory, recomputed by enumeration.
  const std::array<double, 4> size = {1, 2, 3, 10}, y = {11, 20, 24, 245};
  JointChances joint(4, std::vector<double>(4, 0));
  std::array<double, 4> chance{};
  for (std::size_t i = 0; i < 4; ++i) {
    for (std::size_t j = 0; j < 4; ++j) {
      if (i == j) continue;
      joint[i][j] = size[i] / 16 * size[j] / (16 - size[i]) + size[j] / 16 * size[i] / (16 - size[j]);
      chance[i] += joint[i][j];
    }
  }
  const double chances[] = {0.1900183, 0.3705128, 0.5392857, 0.9001832};
  for (std::size_t i = 0; i < 4; ++i) CHECK(std::abs(chance[i] - chances[i]) < 1e-7);
  const double totals[] = {111.8684, 102.3925, 330.056, 98.4826, 326.1461, 316.6701};
  const double sen[] = {47.0638, 502.8143, 7939.751, 232.7159, 5744.061, 3259.7842};
  const double own[] = {-14691.4828, -10832.0713, 4659.3028, -9705.1479, 5682.8026, 6782.8174};
  double mean = 0, mean_sen = 0, mean_own = 0;
  std::size_t pair = 0;
  for (std::size_t i = 0; i < 4; ++i) {
    for (std::size_t j = i + 1; j < 4; ++j, ++pair) {
      const double ys[] = {y[i], y[j]}, ps[] = {chance[i], chance[j]};
      const JointChances both = {{0, joint[i][j]}, {joint[i][j], 0}};
      const double total = horvitz_thompson_total(ys, ps);
      CHECK(std::abs(total - totals[pair]) < 1e-4);
      CHECK(std::abs(sen_yates_grundy_variance(ys, ps, both) - sen[pair]) < 1e-3);
      CHECK(std::abs(horvitz_thompson_variance(ys, ps, both) - own[pair]) < 1e-3);
      mean += joint[i][j] * total;
      mean_sen += joint[i][j] * sen_yates_grundy_variance(ys, ps, both);
      mean_own += joint[i][j] * horvitz_thompson_variance(ys, ps, both);
    }
  }
  CHECK(mean == within(300));
  CHECK(mean_sen == within(4383.5622, 1e-8));
  CHECK(mean_own == within(4383.5622, 1e-8));
}

TEST_CASE("with equal chances Sen, Yates and Grundy's variance is the ordinary one") {
  // Särndal, Swensson & Wretman 1992 (identity); own numbers.
  const std::vector<double> y = {3, 0, 12, 5, 0, 7, 18, 2, 0, 3}, chances(10, 0.1);
  const JointChances joint(10, std::vector<double>(10, 10 * 9 / (100.0 * 99)));
  CHECK(horvitz_thompson_total(y, chances) == within(500));
  CHECK(hajek_mean(y, chances) == within(5));
  CHECK(sen_yates_grundy_variance(y, chances, joint) == within(31400));
  StratumCounts plain;
  plain.ground = 100;
  plain.counts = y;
  plain.share_taken = 0.1;
  CHECK(stratified_ratio(std::vector{plain}).total.variance == within(31400));
}

TEST_CASE("limits of shares") {
  // Newcombe 1998, Statistics in Medicine 17:857-872, Table I: Wilson (method 3, four places) and exact; from
  // memory, recomputed with scipy.
  const int with[] = {81, 15, 0, 1}, n[] = {263, 148, 20, 29};
  const double wilson[][2] = {{0.2553, 0.3662}, {0.0624, 0.1605}, {0, 0.1611}, {0.0061, 0.1718}};
  const double exact[][2] = {{0.252737, 0.367622}, {0.057844, 0.16165}, {0, 0.168433}, {0.000873, 0.177644}};
  for (int i = 0; i < 4; ++i) {
    CAPTURE(with[i]);
    CHECK(std::abs(wilson_limits(with[i], n[i], 0.95).low - wilson[i][0]) < 5e-5);
    CHECK(std::abs(wilson_limits(with[i], n[i], 0.95).high - wilson[i][1]) < 5e-5);
    CHECK(std::abs(exact_share_limits(with[i], n[i], 0.95).low - exact[i][0]) < 1e-6);
    CHECK(std::abs(exact_share_limits(with[i], n[i], 0.95).high - exact[i][1]) < 1e-6);
  }
}

TEST_CASE("limits of a count") {
  // Garwood 1936, Biometrika 28:437-442; from memory, recomputed with R's poisson.test and scipy.
  CHECK(poisson_limits(10, 0.95).low == within(4.7953887, 1e-7));
  CHECK(poisson_limits(10, 0.95).high == within(18.390356, 1e-7));
  CHECK(poisson_limits(0, 0.95).low == 0);
  CHECK(poisson_limits(0, 0.95).high == within(3.6888795, 1e-7));
  // Events that all weigh one: Fay & Feuer's limits are Garwood's.
  const std::vector<double> ones(10, 1.0);
  CHECK(weighted_events_limits(ones, 1, 0.95).low == within(4.7953887, 1e-7));
  CHECK(weighted_events_limits(ones, 1, 0.95).high == within(18.390356, 1e-7));
}

TEST_CASE("red mites on apple leaves: clumping") {
  // Bliss & Fisher 1953, Biometrics 9:176-200: 150 leaves, mean 1.14667, s² 2.27365, k 1.02459 by likelihood;
  // from memory, recomputed.
  const int leaves[] = {70, 38, 17, 10, 9, 3, 2, 1};
  std::vector<double> counts;
  for (int mites = 0; mites < 8; ++mites) counts.insert(counts.end(), std::size_t(leaves[mites]), mites);
  const Dispersion d = dispersion_of(counts);
  CHECK(d.plots == 150);
  CHECK(d.mean == within(1.1466667, 1e-7));
  CHECK(d.variance == within(2.2736465, 1e-7));
  CHECK(d.ratio == within(1.9828313, 1e-7));
  CHECK(d.index == within(295.4418605, 1e-8));
  REQUIRE(d.k_by_moments);
  CHECK(*d.k_by_moments == within(1.1666974, 1e-7));
  CHECK(k_by_likelihood(counts).value_or(0) == within(1.0245924, 1e-6));
}

}  // namespace estimate_test
