#include "swardline/habitat/tile_deflate.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>

#include "swardline/base/error.hpp"
#include "swardline/habitat/map_tile.hpp"

// Numbers of symbols, bits and orders are those of RFC 1951 (Deutsch, 1996), section 3.2.
namespace swardline {
namespace {

constexpr std::size_t row_cells = map_tile_cells;
constexpr std::size_t least_repeat = 3, most_repeat = 258;
constexpr std::size_t literals = 286, end_of_block = 256, distances = 30, code_lengths = 19;
// Distance 1 is symbol 0; 193 to 256 are symbol 15 with six bits more.
constexpr std::size_t before_symbol = 0, above_symbol = 15;
constexpr std::uint32_t above_more = 63, above_more_bits = 6;
static_assert(row_cells == 256);

/// How the length of a repeat is written: a symbol, and bits more.
struct RepeatSymbol {
  std::uint16_t symbol = 0;
  std::uint8_t more_bits = 0, more = 0;
};

constexpr std::array<RepeatSymbol, most_repeat + 1> repeat_symbols() {
  std::array<RepeatSymbol, most_repeat + 1> of{};
  std::size_t length = least_repeat;
  for (std::size_t symbol = 257; length < most_repeat; ++symbol) {
    const std::size_t bits = symbol < 265 ? 0 : (symbol - 261) / 4;
    for (std::size_t more = 0; more < std::size_t{1} << bits && length < most_repeat; ++more, ++length)
      of[length] = {std::uint16_t(symbol), std::uint8_t(bits), std::uint8_t(more)};
  }
  of[most_repeat] = {285, 0, 0};
  return of;
}
constexpr auto symbol_of_repeat = repeat_symbols();

std::uint64_t eight(const std::uint8_t* at) {
  std::uint64_t value = 0;
  std::memcpy(&value, at, sizeof value);
  return value;
}

/// Of eight cells XORed with eight others: how many are the same before one differs.
std::size_t same_of_eight(std::uint64_t differences) {
  if constexpr (std::endian::native == std::endian::little)
    return std::size_t(std::countr_zero(differences)) / 8;
  else
    return std::size_t(std::countl_zero(differences)) / 8;
}

std::size_t same_cells(const std::uint8_t* a, const std::uint8_t* b, std::size_t most) {
  std::size_t i = 0;
  for (; i + 8 <= most; i += 8) {
    const std::uint64_t differences = eight(a + i) ^ eight(b + i);
    if (differences != 0) return i + same_of_eight(differences);
  }
  while (i < most && a[i] == b[i]) ++i;
  return i;
}

/// What the cells come to: literals, and repeats of the cell before or the cell above.
class Tokens {
 public:
  static constexpr std::uint32_t repeat = 1U << 16, above = 1U << 17;  // and the length, in the lower bits

  Tokens(std::span<const std::uint8_t> cells, std::vector<std::uint32_t>& room) : cells_(cells), all_(room) {
    if (all_.size() < cells.size()) all_.resize(cells.size());
    const std::size_t quick_end = cells.size() - most_repeat - 8;
    scan(row_cells);
    scan_quickly(quick_end);
    scan(cells.size());
    ++literal_counts[end_of_block];
    // A code of two distances is a whole one, whatever is met; some readers want no other.
    for (const std::size_t symbol : {before_symbol, above_symbol})
      distance_counts[symbol] = std::max(distance_counts[symbol], 1U);
  }
  [[nodiscard]] std::span<const std::uint32_t> all() const { return {all_.data(), count_}; }

  std::array<std::uint32_t, literals> literal_counts{};
  std::array<std::uint32_t, distances> distance_counts{};

 private:
  void add_literal(std::uint8_t cell) {
    ++literal_counts[cell];
    all_[count_++] = cell;
    ++at_;
  }
  void add_repeat(std::size_t length, bool from_above) {
    ++literal_counts[symbol_of_repeat[length].symbol];
    ++distance_counts[from_above ? above_symbol : before_symbol];
    all_[count_++] = std::uint32_t(length) | (from_above ? repeat | above : repeat);
    at_ += length;
  }

  /// Any part of the cells.
  void scan(std::size_t end) {
    const std::uint8_t* cell = cells_.data();
    while (at_ < end) {
      const std::size_t most = std::min(most_repeat, cells_.size() - at_);
      const std::size_t up = at_ < row_cells ? 0 : same_cells(cell + at_, cell + at_ - row_cells, most);
      const std::size_t along = at_ < 1 ? 0 : same_cells(cell + at_, cell + at_ - 1, most);
      if (std::max(up, along) < least_repeat)
        add_literal(cell[at_]);
      else
        add_repeat(std::max(up, along), up > along);
    }
  }

  /// Where there is a row above and the longest repeat does not reach the end: few branches, for with every
  /// cell that is unlike its neighbours the processor guesses wrongly.
  void scan_quickly(std::size_t end) {
    const std::uint64_t first_three =
        std::endian::native == std::endian::little ? 0xFFFFFFU : std::uint64_t{0xFFFFFF} << 40;
    while (at_ < end) {
      const std::uint8_t* here = cells_.data() + at_;
      const std::uint64_t cells = eight(here), unlike_above = cells ^ eight(here - row_cells),
                          unlike_before = cells ^ eight(here - 1);
      if ((unlike_above & first_three) != 0 && (unlike_before & first_three) != 0) {
        add_literal(*here);
        continue;
      }
      std::size_t up = same_of_eight(unlike_above), along = same_of_eight(unlike_before);
      if (up == 8) up += same_cells(here + 8, here + 8 - row_cells, most_repeat - 8);
      if (along == 8) along += same_cells(here + 8, here + 7, most_repeat - 8);
      add_repeat(std::max(up, along), up > along);
    }
  }

  std::span<const std::uint8_t> cells_;
  std::vector<std::uint32_t>& all_;
  std::size_t at_ = 0, count_ = 0;
};

/// Depths of the leaves of a Huffman tree over `weights`, lightest first.
std::vector<std::size_t> depths_of(const std::vector<std::uint32_t>& weights) {
  const std::size_t leaves = weights.size(), nodes = 2 * leaves - 1;
  std::vector<std::uint32_t> weight(weights);
  weight.resize(nodes);
  std::vector<std::size_t> parent(nodes), depth(nodes, 0);
  std::size_t leaf = 0, node = leaves;
  for (std::size_t made = leaves; made < nodes; ++made) {
    for (int half = 0; half < 2; ++half) {
      const bool take_leaf = leaf < leaves && (node >= made || weight[leaf] <= weight[node]);
      const std::size_t taken = take_leaf ? leaf++ : node++;
      weight[made] += weight[taken];
      parent[taken] = made;
    }
  }
  for (std::size_t i = nodes - 1; i-- > 0;) depth[i] = depth[parent[i]] + 1;
  depth.resize(leaves);
  return depth;
}

/// Lengths of the symbols' codes, none longer than `most`: counts are made more alike until that is so.
/// At least two symbols must have a count.
template <std::size_t Symbols>
std::array<std::uint8_t, Symbols> lengths_of(std::array<std::uint32_t, Symbols> counts, std::size_t most) {
  std::array<std::uint8_t, Symbols> lengths{};
  std::vector<std::size_t> met;
  for (std::size_t symbol = 0; symbol < Symbols; ++symbol)
    if (counts[symbol] > 0) met.push_back(symbol);
  for (;;) {
    std::stable_sort(met.begin(), met.end(),
                     [&](std::size_t a, std::size_t b) { return counts[a] < counts[b]; });
    std::vector<std::uint32_t> weights;
    for (const std::size_t symbol : met) weights.push_back(counts[symbol]);
    const std::vector<std::size_t> depths = depths_of(weights);
    if (*std::max_element(depths.begin(), depths.end()) <= most) {
      for (std::size_t i = 0; i < met.size(); ++i) lengths[met[i]] = std::uint8_t(depths[i]);
      return lengths;
    }
    for (const std::size_t symbol : met) counts[symbol] = (counts[symbol] + 1) / 2;
  }
}

struct Code {
  std::uint64_t bits = 0;
  std::uint32_t length = 0;
  /// This code, then another.
  [[nodiscard]] Code then(const Code& next) const {
    return {bits | next.bits << length, length + next.length};
  }
};

/// Codes of one length in the symbols' order; their highest bit comes first.
template <std::size_t Symbols>
std::array<Code, Symbols> codes_of(const std::array<std::uint8_t, Symbols>& lengths) {
  constexpr std::size_t longest = 15;
  std::array<std::uint32_t, longest + 2> next{};
  for (const std::uint8_t length : lengths)
    if (length > 0) ++next[length + 1U];
  for (std::size_t length = 1; length < next.size(); ++length)
    next[length] = (next[length] + next[length - 1]) << 1;
  std::array<Code, Symbols> codes{};
  for (std::size_t symbol = 0; symbol < Symbols; ++symbol) {
    const std::uint32_t length = lengths[symbol];
    if (length == 0) continue;
    const std::uint32_t code = next[length]++;
    codes[symbol].length = length;
    for (std::uint32_t bit = 0; bit < length; ++bit)
      codes[symbol].bits |= std::uint64_t(code >> bit & 1) << (length - 1 - bit);
  }
  return codes;
}

class BitWriter {
 public:
  /// `out` has room for eight bytes more than are written.
  explicit BitWriter(std::uint8_t* out) : out_(out) {}
  void put(const Code& code) { put(code.bits, code.length); }
  /// At most 56 bits.
  void put(std::uint64_t bits, std::uint32_t count) {
    waiting_ |= bits << count_;
    count_ += count;
    if constexpr (std::endian::native == std::endian::little) {
      std::memcpy(out_, &waiting_, sizeof waiting_);
    } else {
      for (std::size_t i = 0; i < sizeof waiting_; ++i) out_[i] = std::uint8_t(waiting_ >> (8 * i));
    }
    out_ += count_ / 8;
    waiting_ >>= count_ / 8 * 8;
    count_ %= 8;
  }
  /// Fills the last byte up; returns the end.
  [[nodiscard]] std::uint8_t* end() {
    if (count_ > 0) *out_++ = std::uint8_t(waiting_);
    count_ = 0;
    return out_;
  }

 private:
  std::uint8_t* out_;
  std::uint64_t waiting_ = 0;
  std::uint32_t count_ = 0;
};

/// Lengths of codes are themselves coded, zeros in runs.
struct LengthToken {
  std::size_t symbol = 0;
  std::uint32_t more = 0, more_bits = 0;
};

std::vector<LengthToken> length_tokens(const std::vector<std::uint8_t>& lengths) {
  std::vector<LengthToken> tokens;
  for (std::size_t i = 0, end = 0; i < lengths.size(); i = end) {
    for (end = i; end < lengths.size() && lengths[end] == lengths[i]; ++end) {
    }
    std::size_t left = end - i;
    for (; lengths[i] == 0 && left >= 11; left -= std::min<std::size_t>(left, 138))
      tokens.push_back({18, std::uint32_t(std::min<std::size_t>(left, 138) - 11), 7});
    if (lengths[i] == 0 && left >= 3) {
      tokens.push_back({17, std::uint32_t(left - 3), 3});
      left = 0;
    }
    for (; left > 0; --left) tokens.push_back({lengths[i], 0, 0});
  }
  return tokens;
}

void put_lengths(BitWriter& out, const std::array<std::uint8_t, literals>& literal,
                 const std::array<std::uint8_t, distances>& distance) {
  constexpr std::array<std::uint8_t, code_lengths> order{16, 17, 18, 0, 8,  7, 9,  6, 10, 5,
                                                         11, 4,  12, 3, 13, 2, 14, 1, 15};
  std::vector<std::uint8_t> lengths(literal.begin(), literal.end());
  lengths.insert(lengths.end(), distance.begin(), distance.begin() + above_symbol + 1);
  const std::vector<LengthToken> tokens = length_tokens(lengths);
  std::array<std::uint32_t, code_lengths> counts{};
  for (const LengthToken& token : tokens) ++counts[token.symbol];
  constexpr std::size_t longest = 7;
  const auto own = lengths_of(counts, longest);
  const auto codes = codes_of(own);
  out.put(literals - 257, 5);
  out.put(above_symbol, 5);
  out.put(code_lengths - 4, 4);
  for (const std::uint8_t symbol : order) out.put(own[symbol], 3);
  for (const LengthToken& token : tokens) out.put(codes[token.symbol].then({token.more, token.more_bits}));
}

/// Adler-32 (RFC 1950): the sum of the cells, and the sum of its values after each cell. Column by column
/// over a few rows, in sixteen bits, so that many cells are added at once.
std::uint32_t adler_of(std::span<const std::uint8_t> cells) {
  constexpr std::uint32_t modulus = 65521;
  constexpr std::size_t most_rows = 16;  // 255 × (15 + 14 + … + 0) and 255 × 16 are below 2^16
  std::uint32_t sum = 1, sum_of_sums = 0;
  for (std::size_t begin = 0; begin < cells.size(); begin += most_rows * row_cells) {
    const std::size_t rows = std::min(most_rows, (cells.size() - begin) / row_cells);
    // By column: the sum of its cells, and each cell times the rows below it.
    std::array<std::uint16_t, row_cells> plain{}, by_rows_below{};
    for (std::size_t r = 0; r < rows; ++r) {
      const std::uint8_t* cell = cells.data() + begin + r * row_cells;
      for (std::size_t i = 0; i < row_cells; ++i) {
        by_rows_below[i] = std::uint16_t(by_rows_below[i] + plain[i]);
        plain[i] = std::uint16_t(plain[i] + cell[i]);
      }
    }
    std::uint32_t all = 0, rows_below = 0, to_end_of_row = 0;
    for (std::size_t i = 0; i < row_cells; ++i) {
      all += plain[i];
      rows_below += by_rows_below[i];
      to_end_of_row += plain[i] * std::uint32_t(row_cells - i);
    }
    const std::uint64_t more =
        std::uint64_t{rows * row_cells} * sum + std::uint64_t{row_cells} * rows_below + to_end_of_row;
    sum_of_sums = std::uint32_t((sum_of_sums + more) % modulus);
    sum = (sum + all) % modulus;
  }
  return sum_of_sums << 16 | sum;
}

void put_cells(BitWriter& out, const Tokens& tokens, const std::array<Code, literals>& literal,
               const std::array<Code, distances>& distance) {
  const Code before = distance[before_symbol];
  const Code above = distance[above_symbol].then({above_more, above_more_bits});
  std::array<std::array<Code, most_repeat + 1>, 2> repeats;
  for (std::size_t length = least_repeat; length <= most_repeat; ++length) {
    const RepeatSymbol& of = symbol_of_repeat[length];
    const Code code = literal[of.symbol].then({of.more, of.more_bits});
    repeats[0][length] = code.then(before);
    repeats[1][length] = code.then(above);
  }
  for (const std::uint32_t token : tokens.all()) {
    if ((token & Tokens::repeat) == 0)
      out.put(literal[token]);
    else
      out.put(repeats[(token & Tokens::above) != 0 ? 1 : 0][token & 0xFFFF]);
  }
  out.put(literal[end_of_block]);
}

}  // namespace

std::vector<std::uint8_t> deflated_cells(std::span<const std::uint8_t> cells) {
  if (cells.size() < 4 * row_cells || cells.size() % row_cells != 0)
    throw Defect("A tile is too small to be compressed.");
  thread_local std::vector<std::uint32_t> token_room;
  const Tokens tokens(cells, token_room);
  constexpr std::size_t longest = 15;
  const auto literal = lengths_of(tokens.literal_counts, longest);
  const auto distance = lengths_of(tokens.distance_counts, longest);
  // No token is longer than 15 bits a cell; what comes before them takes less than a kilobyte.
  thread_local std::vector<std::uint8_t> room;
  if (room.size() < 2 * cells.size() + 1024) room.resize(2 * cells.size() + 1024);
  room[0] = 0x78;  // DEFLATE, distances up to 32 KiB
  room[1] = 0x01;  // compressed quickly
  BitWriter out(room.data() + 2);
  out.put(1, 1);  // the last block
  out.put(2, 2);  // with codes of its own
  put_lengths(out, literal, distance);
  put_cells(out, tokens, codes_of(literal), codes_of(distance));
  std::uint8_t* end = out.end();
  const std::uint32_t check = adler_of(cells);
  for (int byte = 3; byte >= 0; --byte) *end++ = std::uint8_t(check >> (8 * byte));
  return {room.data(), end};
}

}  // namespace swardline
