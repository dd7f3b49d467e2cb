// The fit with random effects, against closed forms and against the likelihood written out.
#include "swardline/estimate/trend_model.hpp"

#include <doctest/doctest.h>
#include <Eigen/Dense>

#include <cmath>

#include "made_seasons.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"

namespace trend_model_test {

using namespace swardline;
using namespace swardline::testing;

namespace {

class Normal {
 public:
  explicit Normal(RandomKey key) : stream_(key) {}
  double operator()() {  // sum of twelve uniforms: near enough, and bounded
    double sum = -6;
    for (int i = 0; i < 12; ++i) sum += stream_.uniform();
    return sum;
  }

 private:
  RandomStream stream_;
};

/// `sites` × `years`, each once, with a slope.
MixedModel crossed(int sites, int years, double site_sd, double year_sd, double rest_sd, Normal& normal) {
  MixedModel model;
  model.fixed.assign(2, {});
  model.effects.assign(2, {});
  std::vector<double> of_year;
  for (int t = 0; t < years; ++t) of_year.push_back(year_sd * normal());
  for (int s = 0; s < sites; ++s) {
    const double of_site = site_sd * normal();
    for (int t = 0; t < years; ++t) {
      model.y.push_back(5 + 0.1 * t + of_site + of_year[std::size_t(t)] + rest_sd * normal());
      model.fixed[0].push_back(1);
      model.fixed[1].push_back(t - 0.5 * (years - 1));
      model.effects[0].push_back(s);
      model.effects[1].push_back(t);
    }
  }
  return model;
}

/// Plots in sites over years, with gaps.
MixedModel panels(Normal& normal) {
  MixedModel model;
  model.fixed.assign(2, {});
  model.effects.assign(4, {});
  for (int site = 0; site < 4; ++site)
    for (int plot = 0; plot < 6; ++plot)
      for (int year = 0; year < 6; ++year) {
        if (plot >= 2 && (plot + year) % 4 != 0) continue;
        model.y.push_back(2 + 0.5 * site + normal());
        model.fixed[0].push_back(1);
        model.fixed[1].push_back(year - 2.5);
        model.effects[0].push_back(site);
        model.effects[1].push_back(year);
        model.effects[2].push_back(site * 6 + year);
        model.effects[3].push_back(site * 6 + plot);
      }
  return model;
}

/// −2 log restricted likelihood from the dense covariance of the counts (Searle, Casella & McCulloch 1992,
/// ch. 6), with the residual's variance at its best.
double written_out(const MixedModel& model, const std::vector<double>& ratios) {
  const auto n = Eigen::Index(model.y.size()), p = Eigen::Index(model.fixed.size());
  Eigen::MatrixXd v = Eigen::MatrixXd::Identity(n, n);
  for (std::size_t k = 0; k < ratios.size(); ++k)
    for (Eigen::Index i = 0; i < n; ++i)
      for (Eigen::Index j = 0; j < n; ++j)
        if (model.effects[k][std::size_t(i)] == model.effects[k][std::size_t(j)]) v(i, j) += ratios[k];
  Eigen::MatrixXd x(n, p);
  for (Eigen::Index j = 0; j < p; ++j)
    for (Eigen::Index i = 0; i < n; ++i) x(i, j) = model.fixed[std::size_t(j)][std::size_t(i)];
  const Eigen::VectorXd y = Eigen::Map<const Eigen::VectorXd>(model.y.data(), n);
  const Eigen::MatrixXd inverse = v.inverse(), middle = x.transpose() * inverse * x;
  const Eigen::VectorXd beta = middle.inverse() * (x.transpose() * inverse * y), off = y - x * beta;
  const double free = double(n - p), residual = off.dot(inverse * off) / free;
  return std::log(v.determinant()) + std::log(middle.determinant()) +
         free * (1 + std::log(2 * 3.14159265358979323846 * residual));
}

}  // namespace

TEST_CASE("the criterion is the restricted likelihood written out") {
  Normal normal(RandomKey(2027, "criterion"));
  const MixedModel model = panels(normal);
  const std::vector<std::vector<double>> cases = {
      {0, 0, 0, 0}, {1, 1, 1, 1}, {0.3, 0, 2, 0.01}, {5, 0.2, 0, 0.7}, {0, 3, 0, 0}};
  for (const std::vector<double>& ratios : cases)
    CHECK(near(reml_criterion(model, ratios), written_out(model, ratios), 1e-8));
}

TEST_CASE("the fit is the least of the criterion") {
  Normal normal(RandomKey(2027, "least"));
  const MixedModel model = panels(normal);
  const MixedFit fit = fit_by_reml(model);
  CHECK(fit.settled);
  std::vector<double> ratios;
  for (const double variance : fit.variances) ratios.push_back(variance / fit.residual);
  CHECK(near(written_out(model, ratios), fit.criterion, 1e-8));
  for (std::size_t k = 0; k < ratios.size(); ++k)
    for (const double step : {-0.01, 0.01, 0.1}) {
      std::vector<double> aside = ratios;
      aside[k] = std::max(0.0, aside[k] + step);
      CHECK(written_out(model, aside) >= fit.criterion - 1e-8);
    }
}

TEST_CASE("balanced sites and years: the analysis of variance") {
  // Searle, Casella & McCulloch 1992, ch. 4, two-way crossed without interaction: with M the mean squares,
  // σ² = M_rest, σ²_site = (M_site − M_rest)/years; of years about the line, (M_years − M_rest)/sites; the
  // slope is that of the years' means, its variance M_years/(sites Σ(t − t̄)²). Exact where no part is below
  // 0.
  Normal normal(RandomKey(2027, "balanced"));
  constexpr int sites = 12, years = 6;
  const MixedModel model = crossed(sites, years, 1.5, 0.6, 0.8, normal);
  double mean = 0, of_site[sites] = {}, of_year[years] = {};
  for (int s = 0; s < sites; ++s)
    for (int t = 0; t < years; ++t) {
      const double y = model.y[std::size_t(s * years + t)];
      mean += y / (sites * years);
      of_site[s] += y / years;
      of_year[t] += y / sites;
    }
  double around = 0, slope = 0;
  for (int t = 0; t < years; ++t) {
    const double x = t - 0.5 * (years - 1);
    around += x * x;
    slope += x * of_year[t];
  }
  slope /= around;
  double site_squares = 0, year_squares = 0, rest = 0;
  for (const double m : of_site) site_squares += years * (m - mean) * (m - mean);
  for (int t = 0; t < years; ++t) {
    const double off = of_year[t] - mean - slope * (t - 0.5 * (years - 1));
    year_squares += sites * off * off;
  }
  for (int s = 0; s < sites; ++s)
    for (int t = 0; t < years; ++t) {
      const double off = model.y[std::size_t(s * years + t)] - of_site[s] - of_year[t] + mean;
      rest += off * off;
    }
  const double m_rest = rest / ((sites - 1) * (years - 1)), m_site = site_squares / (sites - 1),
               m_year = year_squares / (years - 2);
  REQUIRE(m_year > m_rest);
  REQUIRE(m_site > m_rest);
  const MixedFit fit = fit_by_reml(model);
  CHECK(fit.settled);
  CHECK(near(fit.residual, m_rest, 1e-5));
  CHECK(near(fit.variances[0], (m_site - m_rest) / years, 1e-4));
  CHECK(near(fit.variances[1], (m_year - m_rest) / sites, 1e-5));
  CHECK(near(fit.fixed[0], mean, 1e-9));
  CHECK(near(fit.fixed[1], slope, 1e-9));
  CHECK(near(fit.standard_error[1], std::sqrt(m_year / (sites * around)), 1e-6));
}

TEST_CASE("an effect that gains nothing is 0, and its spread goes to the rest") {
  // Years that lie nearer to the line than chance: the pooled mean square of the rest and the years.
  MixedModel model;
  model.fixed.assign(2, {});
  model.effects.assign(1, {});
  const double off[4] = {1, -1, -1, 1};  // the same in all years, so years' means are on the line
  for (int s = 0; s < 4; ++s)
    for (int t = 0; t < 5; ++t) {
      model.y.push_back(3 + 0.2 * t + off[(s + t) % 4]);
      model.fixed[0].push_back(1);
      model.fixed[1].push_back(t - 2);
      model.effects[0].push_back(t);
    }
  const MixedFit fit = fit_by_reml(model);
  CHECK(fit.variances[0] == 0);
  CHECK(near(fit.residual, 20.0 / 18, 1e-9));
  CHECK(near(fit.fixed[1], 0.2, 1e-9));
}

TEST_CASE("what cannot be fitted is refused") {
  MixedModel model;
  model.y = {1, 2, 3, 4, 5};
  model.fixed = {std::vector<double>(5, 1.0), {0, 1, 2, 3, 4}};
  model.effects = {{0, 0, 1, 1, 1}};
  CHECK_THROWS_AS((void)fit_by_reml(model), InputError);  // on the line without a residual
  model.y[2] = 7;
  CHECK_NOTHROW((void)fit_by_reml(model));
  model.fixed[1].assign(5, 2.0);
  CHECK_THROWS_AS((void)fit_by_reml(model), InputError);
  model.y.resize(3);
  model.fixed = {std::vector<double>(3, 1.0), {0, 1, 2}};
  model.effects = {{0, 0, 1}};
  CHECK_THROWS_AS((void)fit_by_reml(model), InputError);
}

}  // namespace trend_model_test
