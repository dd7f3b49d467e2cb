#include "swardline/base/random.hpp"

#include <cstddef>

#include "swardline/base/error.hpp"

namespace swardline {
namespace {

// The last counter word says what a block is for, so that a label, a child number,
// a value at (a, b, c) and a stream under one key never share a block.
enum class Use : std::uint32_t { value = 0, label = 1, number = 2, stream = 3 };

std::uint64_t low_half(const std::array<std::uint32_t, 4>& block) {
  return block[0] | (std::uint64_t{block[1]} << 32);
}

std::uint64_t high_half(const std::array<std::uint32_t, 4>& block) {
  return block[2] | (std::uint64_t{block[3]} << 32);
}

std::array<std::uint32_t, 4> block_at(std::uint64_t key, std::uint32_t a, std::uint32_t b, std::uint32_t c,
                                      Use use) {
  return philox({a, b, c, static_cast<std::uint32_t>(use)},
                {static_cast<std::uint32_t>(key), static_cast<std::uint32_t>(key >> 32)});
}

// Takes the label eight bytes at a time, low byte first whatever the machine, and its
// length last so that trailing zero bytes count.
std::uint64_t absorb(std::uint64_t key, std::string_view label) {
  std::uint32_t index = 0;
  for (std::size_t start = 0; start < label.size(); start += 8, ++index) {
    std::uint64_t word = 0;
    const std::string_view piece = label.substr(start, 8);
    for (std::size_t i = 0; i < piece.size(); ++i) {
      word |= std::uint64_t{static_cast<unsigned char>(piece[i])} << (8 * i);
    }
    key = low_half(block_at(key, static_cast<std::uint32_t>(word), static_cast<std::uint32_t>(word >> 32),
                            index, Use::label));
  }
  const std::uint64_t length = label.size();
  return low_half(block_at(key, static_cast<std::uint32_t>(length), static_cast<std::uint32_t>(length >> 32),
                           ~std::uint32_t{0}, Use::label));
}

}  // namespace

std::array<std::uint32_t, 4> philox(std::array<std::uint32_t, 4> counter, std::array<std::uint32_t, 2> key) {
  for (int round = 0; round < 10; ++round) {
    const std::uint64_t first = std::uint64_t{0xD2511F53U} * counter[0];
    const std::uint64_t second = std::uint64_t{0xCD9E8D57U} * counter[2];
    counter = {
        static_cast<std::uint32_t>(second >> 32) ^ counter[1] ^ key[0], static_cast<std::uint32_t>(second),
        static_cast<std::uint32_t>(first >> 32) ^ counter[3] ^ key[1], static_cast<std::uint32_t>(first)};
    key[0] += 0x9E3779B9U;
    key[1] += 0xBB67AE85U;
  }
  return counter;
}

RandomKey::RandomKey(std::uint64_t seed, std::string_view label) : key_(absorb(seed, label)) {}

std::uint64_t RandomKey::at(std::uint32_t a, std::uint32_t b, std::uint32_t c) const {
  return low_half(block_at(key_, a, b, c, Use::value));
}

RandomKey RandomKey::under(std::string_view label) const { return RandomKey(absorb(key_, label)); }

RandomKey RandomKey::under(std::uint64_t number) const {
  return RandomKey(low_half(block_at(key_, static_cast<std::uint32_t>(number),
                                     static_cast<std::uint32_t>(number >> 32), 0, Use::number)));
}

RandomStream::result_type RandomStream::operator()() {
  const std::uint64_t index = counter_++;
  if (index % 2 == 1) return second_half_;
  const std::uint64_t block = index / 2;
  const auto words = block_at(key_.bits(), static_cast<std::uint32_t>(block),
                              static_cast<std::uint32_t>(block >> 32), 0, Use::stream);
  second_half_ = high_half(words);
  return low_half(words);
}

double RandomStream::uniform() { return static_cast<double>((*this)() >> 11) * 0x1p-53; }

std::uint64_t RandomStream::below(std::uint64_t n) {
  if (n == 0) throw Defect("a random number below zero was asked for");
  // The first 2^64 mod n values would make small remainders likelier: they are drawn again.
  const std::uint64_t unfair = (0 - n) % n;
  std::uint64_t value = (*this)();
  while (value < unfair) value = (*this)();
  return value % n;
}

}  // namespace swardline
