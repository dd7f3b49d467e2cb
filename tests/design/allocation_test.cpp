#include "swardline/design/allocation.hpp"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "swardline/base/error.hpp"
#include "swardline/base/random.hpp"

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

TEST_CASE("Neyman's allocation of Cochran's cities is twelve and twelve") {
  // Cochran 1977, Sampling Techniques, 3rd ed., sections 5.4 and 5.6 (cities, 1930): N = 16 and 48,
  // S² = 53843 and 5581, n = 24; shares 12.2 and 11.8. From memory, recomputed.
  const std::vector<Share> cities = {{"large", 16, std::sqrt(53843.0)}, {"small", 48, std::sqrt(5581.0)}};
  CHECK(allocate(cities, 24, 0, Allocation::optimal) == std::vector<int>{12, 12});
  const double first = 16 * std::sqrt(53843.0), second = 48 * std::sqrt(5581.0);
  CHECK(24 * first / (first + second) == doctest::Approx(12.2084186).epsilon(1e-8));
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
