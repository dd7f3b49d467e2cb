#include "swardline/design/allocation.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"

namespace allocation_test {

using namespace swardline;

namespace {

std::vector<Share> four_strata() {
  return {{"a", 184, 3.1}, {"b", 61, 4.8}, {"c", 142, 2.2}, {"d", 23, 7.5}};
}

std::string message_of(const std::vector<Share>& shares, int total, int least) {
  try {
    (void)allocate(shares, total, least, Allocation::proportional, {"plan.toml", 40, ""});
  } catch (const InputError& error) {
    return error.what();
  }
  return {};
}

}  // namespace

TEST_CASE("sixty plots over four strata are shared as the hand computation says") {
  // Neyman shares 570.4, 292.8, 312.4, 172.5 of 1348.1, worked by hand.
  CHECK(allocate(four_strata(), 60, 5, Allocation::optimal) == std::vector<int>{25, 13, 14, 8});
  CHECK(allocate(four_strata(), 60, 0, Allocation::proportional) == std::vector<int>{27, 9, 21, 3});
  // With a least of 5 the fourth (3.4 by area) is held and 55 are shared over 387 ha.
  CHECK(allocate(four_strata(), 60, 5, Allocation::proportional) == std::vector<int>{26, 9, 20, 5});
}

TEST_CASE("too few plots for the minimum is refused with both numbers") {
  const std::vector<Share> eleven(11, Share{"x", 1});
  const std::string message = message_of(eleven, 60, 6);
  CHECK(message.find("60 asked, 66 needed for the minimum of 6") != std::string::npos);
  CHECK(message.find("plan.toml:40") != std::string::npos);
  CHECK(message_of(eleven, 66, 6).empty());
}

TEST_CASE("equal shares give what is left over to the first names") {
  const std::vector<Share> shares = {{"c", 5}, {"a", 50}, {"b", 500}};
  CHECK(allocate(shares, 11, 1, Allocation::equal) == std::vector<int>{3, 4, 4});
  CHECK(allocate(shares, 10, 1, Allocation::equal) == std::vector<int>{3, 4, 3});
}

TEST_CASE("a stratum that gets the minimum only takes no share of the rest") {
  const std::vector<Share> shares = {{"a", 10}, {"b", 1000, 1, true}, {"c", 10}};
  CHECK(allocate(shares, 24, 4, Allocation::proportional) == std::vector<int>{10, 4, 10});
  CHECK(allocate({{"b", 1000, 1, true}}, 24, 4, Allocation::proportional) == std::vector<int>{4});
}

TEST_CASE("an optimal allocation with no spread at all is refused, with one anywhere it is not") {
  const std::vector<Share> none = {{"a", 10, 0}, {"b", 20, 0}};
  CHECK_THROWS_WITH_AS((void)allocate(none, 10, 2, Allocation::optimal, {"plan.toml", 40, "[sample]"}),
                       doctest::Contains("with spread 0 everywhere"), InputError);
  CHECK(allocate(none, 10, 2, Allocation::proportional).size() == 2);
  CHECK(allocate({{"a", 10, 0}, {"b", 20, 1}}, 10, 2, Allocation::optimal) == std::vector<int>{2, 8});
  // Ground without a score has no spread to give.
  CHECK(allocate({{"a", 10, 0, true}}, 10, 2, Allocation::optimal) == std::vector<int>{2});
}

TEST_CASE("numbers add up, keep the minimum, stay within one of the fair share and do not depend on order") {
  RandomStream random(RandomKey(7, "allocation"));
  for (int trial = 0; trial < 500; ++trial) {
    std::vector<Share> shares;
    const std::size_t count = 1 + random.below(12);
    for (std::size_t i = 0; i < count; ++i) {
      shares.push_back(
          {std::to_string(random.below(1'000'000)), 1 + 1000 * random.uniform(), 0.1 + 9 * random.uniform()});
    }
    const int least = int(random.below(6));
    const int total = int(count) * least + int(random.below(200));
    for (const Allocation how : {Allocation::equal, Allocation::proportional, Allocation::optimal}) {
      const std::vector<int> numbers = allocate(shares, total, least, how);
      CHECK(std::accumulate(numbers.begin(), numbers.end(), 0) == total);
      CHECK(*std::min_element(numbers.begin(), numbers.end()) >= least);
      std::vector<Share> turned(shares.rbegin(), shares.rend());
      std::vector<int> again = allocate(turned, total, least, how);
      std::reverse(again.begin(), again.end());
      CHECK(again == numbers);
      // Of two strata above the minimum the one with the larger claim never gets fewer.
      for (std::size_t i = 0; i < count; ++i) {
        for (std::size_t j = 0; j < count; ++j) {
          const double wi = how == Allocation::equal
                                ? 1
                                : shares[i].area * (how == Allocation::optimal ? shares[i].spread : 1);
          const double wj = how == Allocation::equal
                                ? 1
                                : shares[j].area * (how == Allocation::optimal ? shares[j].spread : 1);
          if (wi > wj) CHECK(numbers[i] >= numbers[j]);
        }
      }
    }
  }
}

namespace {

/// Shares of `count` strata with costs, in random order, and `species` with counts of their own.
struct Made {
  std::vector<Share> shares;
  std::vector<ExpectedSpecies> species;
};

Made made_at_random(RandomStream& random, std::size_t count, std::size_t species, bool costs) {
  Made made;
  for (std::size_t i = 0; i < count; ++i) {
    Share share{std::to_string(random.below(1'000'000'000)), 1 + 20 * random.uniform()};
    if (costs) share.cost = 1 + 4 * random.uniform();
    made.shares.push_back(share);
  }
  for (std::size_t k = 0; k < species; ++k) {
    ExpectedSpecies one{std::to_string(k), 0.1 + 0.3 * random.uniform(), {}, {}};
    for (std::size_t i = 0; i < count; ++i) {
      one.mean.push_back(0.1 + 5 * random.uniform());
      one.sd.push_back(random.below(4) == 0 ? 0 : one.mean.back() * (0.3 + 2 * random.uniform()));
    }
    made.species.push_back(one);
  }
  return made;
}

double worst_shortfall(const Made& made, const std::vector<int>& numbers) {
  double worst = 0;
  for (const ExpectedSpecies& one : made.species) {
    worst = std::max(worst, expected_relative_error(made.shares, numbers, one).value_or(1e9) / one.target);
  }
  return worst;
}

/// The smallest of the worst shortfalls that any numbers give, by trying all.
double least_worst(const Made& made, std::vector<int>& numbers, std::size_t from, int left, int least) {
  if (from + 1 == numbers.size()) {
    numbers[from] = left;
    return worst_shortfall(made, numbers);
  }
  double found = 1e9;
  const int others = least * int(numbers.size() - from - 1);
  for (int n = least; n + others <= left; ++n) {
    numbers[from] = n;
    found = std::min(found, least_worst(made, numbers, from + 1, left - n, least));
  }
  return found;
}

double cost_of(const Made& made, const std::vector<int>& numbers) {
  double cost = 0;
  for (std::size_t i = 0; i < numbers.size(); ++i) cost += numbers[i] * made.shares[i].cost;
  return cost;
}

}  // namespace

TEST_CASE("for one species, plots handed out one by one have the least error of all whole numbers") {
  RandomStream random(RandomKey(11, "one species"));
  for (int trial = 0; trial < 60; ++trial) {
    const Made made = made_at_random(random, 4, 1, false);
    if (worst_shortfall(made, {1, 1, 1, 1}) == 0) continue;
    const std::vector<int> numbers =
        allocate_over_species(made.shares, made.species, Available::plots(18), 2);
    std::vector<int> tried(4);
    CHECK(worst_shortfall(made, numbers) ==
          doctest::Approx(least_worst(made, tried, 0, 18, 2)).epsilon(1e-12));
  }
}

TEST_CASE("over several species the worst off is hardly worse off than any whole numbers would leave it") {
  RandomStream random(RandomKey(12, "three species"));
  double most = 1, sum = 0;
  constexpr int trials = 60;
  for (int trial = 0; trial < trials; ++trial) {
    const Made made = made_at_random(random, 4, 3, false);
    const std::vector<int> numbers =
        allocate_over_species(made.shares, made.species, Available::plots(20), 2);
    CHECK(std::accumulate(numbers.begin(), numbers.end(), 0) == 20);
    std::vector<int> tried(4);
    const double ratio = worst_shortfall(made, numbers) / least_worst(made, tried, 0, 20, 2);
    CHECK(ratio > 1 - 1e-12);
    most = std::max(most, ratio);
    sum += ratio;
  }
  MESSAGE("worst shortfall beside the best there is: mean ", sum / trials, ", most ", most);
  CHECK(sum / trials < 1.02);
  CHECK(most < 1.10);
}

TEST_CASE("a compromise does better by the worst species than any one species' own allocation") {
  // Two species that live apart: each one's own optimum leaves the other at the minimum.
  const Made made{{{"glade", 30}, {"meadow", 30}},
                  {{"GLD", 0.2, {4, 0.1}, {5, 0.2}}, {"MDW", 0.2, {0.1, 4}, {0.2, 5}}}};
  const auto both = allocate_over_species(made.shares, made.species, Available::plots(40), 4);
  CHECK(both == std::vector<int>{20, 20});
  const auto one = allocate_over_species(made.shares, {made.species[0]}, Available::plots(40), 4);
  CHECK(one == std::vector<int>{36, 4});
  CHECK(worst_shortfall(made, both) < 0.6 * worst_shortfall(made, one));
  // A sharper target draws plots.
  Made sharper = made;
  sharper.species[1].target = 0.1;
  const auto drawn = allocate_over_species(sharper.shares, sharper.species, Available::plots(40), 4);
  CHECK(drawn[1] > 28);
}

TEST_CASE("budgets are kept, nearly used up, and costs move plots to the cheaper strata") {
  RandomStream random(RandomKey(13, "budgets"));
  for (int trial = 0; trial < 200; ++trial) {
    Made made = made_at_random(random, 1 + random.below(9), 1 + random.below(3), true);
    for (Share& share : made.shares) share.spread = 0.5 + random.uniform();
    double minimum = 0, dearest = 0;
    for (const Share& share : made.shares) {
      minimum += 2 * share.cost;
      dearest = std::max(dearest, share.cost);
    }
    const double budget = minimum + 100 * random.uniform();
    for (int how = 0; how < 3; ++how) {
      const auto numbers = allocate(made.shares, Available::budget(budget), 2, Allocation(how));
      CHECK(cost_of(made, numbers) <= budget * (1 + 1e-9));
      CHECK(*std::min_element(numbers.begin(), numbers.end()) >= 2);
      CHECK(budget - cost_of(made, numbers) <= dearest + 1e-6);
    }
    if (worst_shortfall(made, std::vector<int>(made.shares.size(), 1)) == 0) continue;
    const auto numbers = allocate_over_species(made.shares, made.species, Available::budget(budget), 2);
    CHECK(cost_of(made, numbers) <= budget * (1 + 1e-9));
  }
  std::vector<Share> two = {{"dear", 50, 3, false, 4}, {"near", 50, 3, false, 1}};
  CHECK(allocate(two, 30, 2, Allocation::optimal) == std::vector<int>{10, 20});
  two[0].cost = 1;
  CHECK(allocate(two, 30, 2, Allocation::optimal) == std::vector<int>{15, 15});
}

TEST_CASE("the compromise does not depend on the order of strata or species, and breaks ties by name") {
  RandomStream random(RandomKey(14, "order"));
  const Made made = made_at_random(random, 40, 5, true);
  const auto numbers = allocate_over_species(made.shares, made.species, Available::plots(300), 3);
  Made turned{{made.shares.rbegin(), made.shares.rend()}, {made.species.rbegin(), made.species.rend()}};
  for (ExpectedSpecies& one : turned.species) {
    std::reverse(one.mean.begin(), one.mean.end());
    std::reverse(one.sd.begin(), one.sd.end());
  }
  auto again = allocate_over_species(turned.shares, turned.species, Available::plots(300), 3);
  std::reverse(again.begin(), again.end());
  CHECK(again == numbers);
  const std::vector<Share> alike = {{"c", 10}, {"a", 10}, {"b", 10}};
  const ExpectedSpecies one{"x", 0.2, {1, 1, 1}, {2, 2, 2}};
  CHECK(allocate_over_species(alike, {one}, Available::plots(11), 2) == std::vector<int>{3, 4, 4});
}

TEST_CASE("thousands of strata and ten thousand plots are shared out over ten species at once") {
  RandomStream random(RandomKey(15, "many"));
  const Made made = made_at_random(random, 4000, 10, true);
  const auto numbers = allocate_over_species(made.shares, made.species, Available::plots(30'000), 2);
  CHECK(std::accumulate(numbers.begin(), numbers.end(), 0) == 30'000);
  CHECK(*std::min_element(numbers.begin(), numbers.end()) >= 2);
}

TEST_CASE("species that are nowhere, spread that is nowhere and a minimum that is too much are refused") {
  const std::vector<Share> two = {{"a", 10}, {"b", 20}};
  const auto over = [&](const ExpectedSpecies& one, Available available, int least) {
    return allocate_over_species(two, {one}, available, least, {"plan.toml", 40, "[sample]"});
  };
  CHECK_THROWS_WITH_AS((void)over({"PTUB", 0.2, {0, 0}, {1, 1}}, Available::plots(10), 2),
                       doctest::Contains("PTUB is expected nowhere"), InputError);
  CHECK_THROWS_WITH_AS((void)over({"PTUB", 0.2, {1, 1}, {0, 0}}, Available::plots(10), 2),
                       doctest::Contains("spread 0 everywhere"), InputError);
  CHECK_THROWS_WITH_AS((void)over({"PTUB", 0.2, {1, 1}, {1, 1}}, Available::plots(10), 6),
                       doctest::Contains("10 asked, 12 needed for the minimum of 6"), InputError);
  CHECK_THROWS_WITH_AS((void)over({"PTUB", 0.2, {1, 1}, {1, 1}}, Available::budget(10.5), 6),
                       doctest::Contains("10 minutes asked, 12 needed for the minimum of 6"), InputError);
  // Without a minimum every stratum with spread still needs one plot.
  CHECK_THROWS_WITH_AS((void)over({"PTUB", 0.2, {1, 1}, {1, 1}}, Available::plots(1), 0),
                       doctest::Contains("1 asked, 2 needed for the minimum of 1"), InputError);
  CHECK(over({"PTUB", 0.2, {1, 1}, {1, 0}}, Available::plots(1), 0) == std::vector<int>{1, 0});
}

TEST_CASE("expected relative errors are those of stratified sampling, and none where ground is left out") {
  const ExpectedSpecies one{"PTUB", 0.2, {2, 1}, {3, 4}};
  const std::vector<Share> two = {
      {"a", 10},
      {"b", 20},
  };
  // Variance 900/9 + 6400/16 = 500 of a total of 40, by hand.
  CHECK(expected_relative_error(two, {9, 16}, one).value() == doctest::Approx(std::sqrt(500.0) / 40));
  CHECK_FALSE(expected_relative_error(two, {9, 0}, one).has_value());
  CHECK_FALSE(expected_relative_error(two, {9, 16}, {"none", 0.2, {0, 0}, {1, 1}}).has_value());
  const std::vector<Share> scored = {{"a", 10}, {"b", 20, 1, true}};
  CHECK(expected_relative_error(scored, {9, 0}, one).value() == doctest::Approx(10.0 / 20));
}

}  // namespace allocation_test
