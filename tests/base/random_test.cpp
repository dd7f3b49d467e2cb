#include "swardline/base/random.hpp"

#include <doctest/doctest.h>

#include <array>
#include <cstdint>
#include <set>
#include <string>
#include <vector>

#include "swardline/base/error.hpp"

namespace random_test {

using namespace swardline;

TEST_CASE("philox gives the known answers of its authors") {
  // Known-answer vectors of philox4x32, 10 rounds, in the Random123 distribution
  // (Salmon, Moraes, Dror & Shaw 2011), file kat_vectors; from memory, recomputed.
  CHECK(philox({0, 0, 0, 0}, {0, 0}) ==
        std::array<std::uint32_t, 4>{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8});
  CHECK(philox({0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff}, {0xffffffff, 0xffffffff}) ==
        std::array<std::uint32_t, 4>{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd});
  CHECK(philox({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}) ==
        std::array<std::uint32_t, 4>{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1});
}

TEST_CASE("a value depends on the key and the place only") {
  const RandomKey key(2027, "QPR|score=50-75|v1");
  CHECK(key.at(1, 2, 3) == RandomKey(2027, "QPR|score=50-75|v1").at(1, 2, 3));
  CHECK(key.at(1, 2, 3) != key.at(1, 3, 2));
  CHECK(key.at(1) != RandomKey(2028, "QPR|score=50-75|v1").at(1));
  CHECK(key.at(1) != RandomKey(2027, "QPR|score=50-75|v2").at(1));
}

TEST_CASE("labels that differ in any way give different keys") {
  std::vector<std::string> labels = {"",         "a",         std::string("a\0", 2), "b",       "ab",
                                     "abcdefgh", "abcdefghi", "abcdefgh\x01",        "hgfedcba"};
  labels.emplace_back(1000, 'x');
  labels.emplace_back(1001, 'x');
  std::set<std::uint64_t> keys;
  for (const std::string& label : labels) keys.insert(RandomKey(2027, label).bits());
  const RandomKey root(2027, "");
  for (std::uint64_t number = 0; number < 100; ++number) keys.insert(root.under(number).bits());
  for (const std::string& label : labels) keys.insert(root.under(label).bits());
  CHECK(keys.size() == 2 * labels.size() + 100);
}

TEST_CASE("a stream repeats for an equal key and never repeats itself early") {
  RandomStream first(RandomKey(7, "x"));
  RandomStream second(RandomKey(7, "x"));
  std::set<std::uint64_t> seen;
  for (int i = 0; i < 10000; ++i) {
    const std::uint64_t value = first();
    CHECK(value == second());
    seen.insert(value);
  }
  CHECK(seen.size() == 10000);
}

TEST_CASE("the numbers of a season stay what they were") {
  // Computed by a second implementation of the same rule (plain Python integers). A change here changes every
  // plot of every season drawn before, so it must never happen unnoticed.
  const RandomKey key(2027, "QPR|score=50-75|v1|candidates");
  RandomStream stream(key);
  CHECK(key.bits() == 0xd2c35f4fb69f7065U);
  CHECK(key.at(3, 5, 7) == 0x8ec5ebc30b8ccaecU);
  CHECK(key.under("spares").bits() == 0xc53cfa8afe89f572U);
  CHECK(key.under(12).bits() == 0x51ee91a1d1a27b50U);
  CHECK(stream() == 0x22bb92cb046fafa0U);
  CHECK(stream() == 0xfb63c217edd83e6eU);
  CHECK(stream() == 0x05adcbd5bc4b4850U);
}

TEST_CASE("uniform numbers fill their interval evenly") {
  // 100 cells, 10^6 numbers: chi-square with 99 degrees of freedom lies in 44 to 182
  // except with chance 1e-6 (Wilson-Hilferty); the seed is fixed, so this never flickers.
  RandomStream stream(RandomKey(1, "uniform"));
  std::array<int, 100> cells{};
  const int all = 1000000;
  for (int i = 0; i < all; ++i) {
    const double value = stream.uniform();
    REQUIRE(value >= 0.0);
    REQUIRE(value < 1.0);
    ++cells[static_cast<std::size_t>(value * 100)];
  }
  double chi_square = 0;
  for (const int cell : cells) chi_square += (cell - all / 100.0) * (cell - all / 100.0) / (all / 100.0);
  CHECK(chi_square > 44);
  CHECK(chi_square < 182);
}

TEST_CASE("whole numbers below a bound are even, also where the bound does not divide") {
  RandomStream stream(RandomKey(1, "below"));
  std::array<int, 7> cells{};
  for (int i = 0; i < 700000; ++i) ++cells[stream.below(7)];
  // Standard deviation of a cell: sqrt(700000 * 1/7 * 6/7) = 293.
  for (const int cell : cells) CHECK(std::abs(cell - 100000) < 5 * 293);
  CHECK(stream.below(1) == 0);

  // Three quarters of the range: without drawing again, the lower third would come twice as often.
  const std::uint64_t bound = (std::uint64_t{1} << 62) * 3;
  int low = 0;
  for (int i = 0; i < 30000; ++i) low += stream.below(bound) < bound / 3 ? 1 : 0;
  CHECK(std::abs(low - 10000) < 5 * 82);
  CHECK_THROWS_AS(stream.below(0), Defect);
}

}  // namespace random_test
