// Published differences on pairs, and published fits with random effects.
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

#include "swardline/estimate/change_paired.hpp"
#include "swardline/estimate/trend_model.hpp"

namespace change_published_test {

using namespace swardline;

namespace {

bool near(double value, double expected, double by) { return std::abs(value - expected) <= by; }

std::vector<PairedCount> pairs_of(const std::vector<double>& then, const std::vector<double>& now) {
  std::vector<PairedCount> pairs;
  for (std::size_t i = 0; i < then.size(); ++i) pairs.push_back({0, true, 1, then[i], 1, now[i], 1});
  return pairs;
}

std::filesystem::path outside_data() {
  if (const char* shared = std::getenv("SWARDLINE_SHARED"))
    return std::filesystem::path(shared) / "references" / "data";
  return std::filesystem::path(SWARDLINE_SOURCE_DIR) / ".." / "shared" / "references" / "data";
}

std::vector<std::string> cells(const std::string& line) {
  std::vector<std::string> row;
  std::stringstream in(line);
  for (std::string cell; std::getline(in, cell, ',');) {
    std::erase(cell, '"');
    row.push_back(cell);
  }
  return row;
}

}  // namespace

TEST_CASE("ten patients under two drugs") {
  // Student 1908, Biometrika 6:1-25; R data set sleep, group 1 minus group 2: −1.58, standard error
  // 0.38895872, 95 % limits −2.45988576 and −0.70011424 with 9 degrees of freedom (recomputed in R).
  const auto paired = paired_change(pairs_of({1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4},
                                             {0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0}),
                                    {1.0});
  CHECK(near(paired.change, -1.58, 1e-12));
  REQUIRE(paired.standard_error);
  CHECK(near(*paired.standard_error, 0.38895872, 1e-7));
  CHECK(near(paired.degrees_freedom, 9, 1e-9));
  const LowHigh limits =
      symmetric_limits(paired.change, *paired.standard_error, paired.degrees_freedom, 0.95);
  CHECK(near(limits.low, -2.45988576, 1e-7));
  CHECK(near(limits.high, -0.70011424, 1e-7));
}

TEST_CASE("eleven paired plots") {
  // Spellman & Whiting 2013, Handbook of Mathematics and Statistics for the Environment, paired plots
  // (variance of differences 2.6, t 2.057); by memory first in Freese 1967, USDA Agriculture Handbook 317.
  const auto paired = paired_change(
      pairs_of({10, 7, 8, 9, 11, 6, 10, 11, 10, 8, 9}, {12, 8, 8, 11, 10, 9, 11, 11, 13, 10, 7}), {1.0});
  CHECK(near(paired.change, 1.0, 1e-12));
  REQUIRE(paired.standard_error);
  CHECK(near(*paired.standard_error * *paired.standard_error * 11, 2.6, 1e-7));
  CHECK(near(paired.change / *paired.standard_error, 2.05688338, 1e-7));
  const LowHigh limits =
      symmetric_limits(paired.change, *paired.standard_error, paired.degrees_freedom, 0.95);
  CHECK(near(limits.low, -0.08325969, 1e-7));
  CHECK(near(limits.high, 2.08325969, 1e-7));
}

TEST_CASE("a stratified change: California schools, 1999 to 2000") {
  // Lumley 2004, Journal of Statistical Software 9(8), data set apistrat: api00 − api99 under strata E, H, M
  // of 4421, 755 and 1018 schools: 32.8925184, standard error 2.05111241 (R, survey 4.1-1). Schools can be
  // counted out, ground cannot: the finite-population term is put in here, stratum by stratum.
  const std::filesystem::path file = outside_data() / "apistrat.csv";
  std::ifstream in(file);
  if (!in) {
    MESSAGE("skipped: no ", file.string());
    return;
  }
  std::string line;
  std::getline(in, line);
  std::map<std::string, std::size_t> column;
  const std::vector<std::string> top = cells(line);
  for (std::size_t i = 0; i < top.size(); ++i) column[top[i]] = i;
  const std::map<std::string, std::size_t> strata = {{"E", 0}, {"H", 1}, {"M", 2}};
  const std::vector<double> schools = {4421, 755, 1018};
  std::vector<PairedCount> pairs;
  std::array<std::vector<PairedCount>, 3> alone;
  while (std::getline(in, line)) {
    const std::vector<std::string> row = cells(line);
    const std::size_t h = strata.at(row[column.at("stype")]);
    const double then = std::stod(row[column.at("api99")]), now = std::stod(row[column.at("api00")]);
    pairs.push_back({h, true, 1, then, 1, now, 1});
    alone[h].push_back({0, true, 1, then, 1, now, 1});
  }
  REQUIRE(pairs.size() == 200);
  const PairedChange all = paired_change(pairs, schools);
  CHECK(near(all.change, 32.8925184, 1e-6 * 32.9));
  double variance = 0, without = 0;
  for (std::size_t h = 0; h < 3; ++h) {
    const PairedChange one = paired_change(alone[h], {1.0});
    const double share = schools[h] / 6194, n = double(alone[h].size());
    const double part = share * share * *one.standard_error * *one.standard_error;
    variance += part * (1 - n / schools[h]);
    without += part;
  }
  CHECK(near(std::sqrt(variance), 2.05111241, 1e-6 * 2.05));
  CHECK(near(*all.standard_error, std::sqrt(without), 1e-9));
}

TEST_CASE("yields of dyestuff from six batches") {
  // Davies 1947, Statistical Methods in Research and Production; the balanced one-way classification whose
  // restricted likelihood estimates are those of the analysis of variance, 1764.05 between batches and
  // 2451.25 within, mean 1527.5 (also Box & Tiao 1973; Searle, Casella & McCulloch 1992, ch. 3). −2 log
  // likelihood 319.6543: Bates, Mächler, Bolker & Walker 2015. All from memory; data and results agree.
  MixedModel model;
  model.y = {1545, 1440, 1440, 1520, 1580, 1540, 1555, 1490, 1560, 1495, 1595, 1550, 1605, 1510, 1560,
             1445, 1440, 1595, 1465, 1545, 1595, 1630, 1515, 1635, 1625, 1520, 1455, 1450, 1480, 1445};
  model.fixed = {std::vector<double>(30, 1.0)};
  model.effects.emplace_back();
  for (int i = 0; i < 30; ++i) model.effects[0].push_back(i / 5);
  const MixedFit fit = fit_by_reml(model);
  CHECK(fit.settled);
  CHECK(near(fit.fixed[0], 1527.5, 1e-6));
  CHECK(near(fit.residual, 2451.25, 0.01));
  CHECK(near(fit.variances[0], 1764.05, 0.05));
  CHECK(near(fit.criterion, 319.6543, 5e-5));
}

TEST_CASE("growth of twenty-seven children over four visits") {
  // Potthoff & Roy 1964, Biometrika 51:313-326; random intercepts by restricted maximum likelihood: Pinheiro
  // & Bates 2000, Mixed-Effects Models in S and S-PLUS, ch. 1: 16.761111 + 0.660185 age, standard errors
  // 0.8023952 and 0.0616059, standard deviations 2.114724 and 1.431592, log likelihood −223.5013. From
  // memory; data and results agree.
  const double distances[27][4] = {
      {26, 25, 29, 31},       {21.5, 22.5, 23, 26.5}, {23, 22.5, 24, 27.5}, {25.5, 27.5, 26.5, 27},
      {20, 23.5, 22.5, 26},   {24.5, 25.5, 27, 28.5}, {22, 22, 24.5, 26.5}, {24, 21.5, 24.5, 25.5},
      {23, 20.5, 31, 26},     {27.5, 28, 31, 31.5},   {23, 23, 23.5, 25},   {21.5, 23.5, 24, 28},
      {17, 24.5, 26, 29.5},   {22.5, 25.5, 25.5, 26}, {23, 24.5, 26, 30},   {22, 21.5, 23.5, 25},
      {21, 20, 21.5, 23},     {21, 21.5, 24, 25.5},   {20.5, 24, 24.5, 26}, {23.5, 24.5, 25, 26.5},
      {21.5, 23, 22.5, 23.5}, {20, 21, 21, 22.5},     {21.5, 22.5, 23, 25}, {23, 23, 23.5, 24},
      {20, 21, 22, 21.5},     {16.5, 19, 19, 19.5},   {24.5, 25, 28, 28}};
  MixedModel model;
  model.fixed.assign(2, {});
  model.effects.emplace_back();
  for (int child = 0; child < 27; ++child)
    for (int visit = 0; visit < 4; ++visit) {
      model.y.push_back(distances[child][visit]);
      model.fixed[0].push_back(1);
      model.fixed[1].push_back(8 + 2 * visit);
      model.effects[0].push_back(child);
    }
  const MixedFit fit = fit_by_reml(model);
  CHECK(fit.settled);
  CHECK(near(fit.fixed[0], 16.761111, 1e-6));
  CHECK(near(fit.fixed[1], 0.660185, 1e-6));
  CHECK(near(fit.standard_error[0], 0.8023952, 1e-6));
  CHECK(near(fit.standard_error[1], 0.0616059, 1e-7));
  CHECK(near(std::sqrt(fit.variances[0]), 2.114724, 2e-6));
  CHECK(near(std::sqrt(fit.residual), 1.431592, 1e-6));
  CHECK(near(fit.criterion, 2 * 223.5013, 1e-4));
}

}  // namespace change_published_test
