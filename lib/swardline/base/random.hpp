// Counter-based random numbers: a value depends only on the seed, a label and a
// counter, never on how many were drawn before, so results do not depend on
// threads, order of sites, tile size or machine.
//
// Philox4x32-10: Salmon, Moraes, Dror & Shaw 2011, Parallel random numbers: as
// easy as 1, 2, 3, SC'11.
#pragma once

#include <array>
#include <cstdint>
#include <string_view>

namespace swardline {

/// One Philox4x32-10 block.
[[nodiscard]] std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter,
                                                  std::array<std::uint32_t, 2> key);

/// Key of a stream: the plan's seed and a label in words
/// ("QPR|score=50-75|v1|candidates"). Equal bytes give equal keys on any machine.
class RandomKey {
 public:
  RandomKey(std::uint64_t seed, std::string_view label);
  /// 64 bits that depend only on the key and (a, b, c).
  [[nodiscard]] std::uint64_t at(std::uint32_t a, std::uint32_t b = 0, std::uint32_t c = 0) const;
  /// A new key under this one.
  [[nodiscard]] RandomKey under(std::string_view label) const;
  [[nodiscard]] RandomKey under(std::uint64_t number) const;
  [[nodiscard]] std::uint64_t bits() const { return key_; }

 private:
  explicit RandomKey(std::uint64_t key) : key_(key) {}
  std::uint64_t key_;
};

/// A sequence of numbers from one key. Satisfies UniformRandomBitGenerator, but the
/// standard library's distributions differ between machines: use the members.
class RandomStream {
 public:
  using result_type = std::uint64_t;
  explicit RandomStream(RandomKey key) : key_(key) {}
  static constexpr result_type min() { return 0; }
  static constexpr result_type max() { return ~result_type{0}; }
  result_type operator()();
  /// Uniform in [0, 1), a multiple of 2^-53.
  double uniform();
  /// Uniform whole number in [0, n), without bias. n > 0.
  std::uint64_t below(std::uint64_t n);

 private:
  RandomKey key_;
  std::uint64_t counter_ = 0;
  std::uint64_t second_half_ = 0;  // a block holds two numbers
};

}  // namespace swardline
