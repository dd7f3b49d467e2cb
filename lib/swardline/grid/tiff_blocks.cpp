#include "swardline/grid/tiff_blocks.hpp"

#include <cpl_conv.h>
#include <cpl_error.h>
#include <unistd.h>

#include <algorithm>
#include <bit>

#if defined(__SSE2__)
#include <emmintrin.h>
#endif

#include "swardline/grid/pack_bits.hpp"

namespace swardline {

std::unique_ptr<TiffBlocks> TiffBlocks::open(const std::filesystem::path& file, const Shape& shape) {
  try {
    std::unique_ptr<TiffBlocks> blocks(new TiffBlocks(std::make_unique<TiffFile>(file, false), shape));
    if (blocks->look()) return blocks;
  } catch (const TiffFile::Unreadable&) {
    // Whatever is the matter, GDAL says it.
  }
  return nullptr;
}

bool TiffBlocks::look() {
  constexpr std::uint64_t no_packing = 1, adobe_deflate = 8, deflate = 32946, pack_bits_number = 32773;
  constexpr std::uint64_t black_is_zero = 1, palette = 3, no_predictor = 1, horizontal = 2, of_floats = 3;
  constexpr std::uint64_t whole_numbers = 1, floating_point = 3;
  const TiffFile::Directory& directory = file_->directories().front();
  const auto value = [&](std::uint64_t tag, std::uint64_t otherwise) {
    return file_->first(directory, tag, otherwise);
  };
  const auto is = [&](std::uint64_t tag, int number) { return value(tag, 0) == std::uint64_t(number); };
  if (!is(tiff_tag::image_width, shape_.cols) || !is(tiff_tag::image_length, shape_.rows) ||
      !is(tiff_tag::tile_width, shape_.block_cols) || !is(tiff_tag::tile_length, shape_.block_rows) ||
      !is(tiff_tag::bits_per_sample, shape_.floats ? 32 : 8) ||
      value(tiff_tag::sample_format, whole_numbers) != (shape_.floats ? floating_point : whole_numbers) ||
      value(tiff_tag::samples_per_pixel, 1) != 1 || value(tiff_tag::fill_order, 1) != 1)
    return false;
  const std::uint64_t colours = value(tiff_tag::photometric, black_is_zero);
  if (colours != black_is_zero && colours != palette) return false;
  if (shape_.floats && std::endian::native != std::endian::little) return false;
  const std::uint64_t packing = value(tiff_tag::compression, no_packing),
                      predictor = value(tiff_tag::predictor, no_predictor);
  if (packing == adobe_deflate || packing == deflate)
    packing_ = Packing::deflate;
  else if (packing == pack_bits_number && !shape_.floats)
    packing_ = Packing::pack_bits;
  else if (packing != no_packing)
    return false;
  // Only packings that find repetitions go with a predictor.
  const std::uint64_t known = shape_.floats ? of_floats : horizontal;
  predicted_ = packing_ == Packing::deflate && predictor == known;
  if (packing_ == Packing::deflate && predictor != no_predictor && predictor != known) return false;
  const auto tiles = [](int cells, int block) { return std::size_t((cells + block - 1) / block); };
  across_ = tiles(shape_.cols, shape_.block_cols);
  const std::size_t all = across_ * tiles(shape_.rows, shape_.block_rows);
  const auto offsets = directory.find(tiff_tag::tile_offsets),
             lengths = directory.find(tiff_tag::tile_byte_counts);
  if (offsets == directory.end() || lengths == directory.end() || offsets->second.count != all ||
      lengths->second.count != all)
    return false;
  offsets_ = file_->read(offsets->second);
  lengths_ = file_->read(lengths->second);
  return true;
}

bool TiffBlocks::read(int tx, int ty, std::uint8_t* out) {
  const std::size_t tile = std::size_t(ty) * across_ + std::size_t(tx);
  const auto cols = std::size_t(shape_.block_cols), height = std::size_t(shape_.block_rows);
  const std::size_t width = cols * cell_bytes();
  // A tile packed is hardly ever longer than its cells; a length far beyond is damage.
  if (tile >= offsets_.size() || offsets_[tile] == 0 || lengths_[tile] == 0 ||
      lengths_[tile] > 2 * width * height + 4096)
    return false;
  packed_.resize(lengths_[tile]);
  if (::pread(file_->descriptor(), packed_.data(), packed_.size(), off_t(offsets_[tile])) !=
          ssize_t(packed_.size()) ||
      !unpack(out, width * height))
    return false;
  for (std::size_t row = 0; predicted_ && row < height; ++row) {
    std::uint8_t* const at = out + row * width;
    if (!shape_.floats) {
      add_along_row(at, width);
      continue;
    }
    row_.assign(at, at + width);
    join_float_row(row_.data(), cols, at);
  }
  return true;
}

bool TiffBlocks::unpack(std::uint8_t* out, std::size_t size) const {
  if (packing_ == Packing::pack_bits) return unpack_bits(packed_, {out, size});
  if (packing_ == Packing::none) {
    if (packed_.size() < size) return false;
    std::copy_n(packed_.begin(), size, out);
    return true;
  }
  std::size_t length = 0;
  CPLErrorStateBackuper keep_errors;  // GDAL is asked again and has its own words
  return CPLZLibInflate(packed_.data(), packed_.size(), out, size, &length) != nullptr && length == size;
}

void add_along_row(std::uint8_t* row, std::size_t count) {
  std::size_t i = 0;
  std::uint8_t sum = 0;
#if defined(__SSE2__)
  // Sums within sixteen bytes by doubling, then what came before is added to all of them; only that last
  // addition waits for the sixteen before.
  __m128i before = _mm_setzero_si128();
  for (; i + 16 <= count; i += 16) {
    auto* const at = reinterpret_cast<__m128i*>(row + i);
    __m128i x = _mm_loadu_si128(at);
    x = _mm_add_epi8(x, _mm_slli_si128(x, 1));
    x = _mm_add_epi8(x, _mm_slli_si128(x, 2));
    x = _mm_add_epi8(x, _mm_slli_si128(x, 4));
    x = _mm_add_epi8(x, _mm_slli_si128(x, 8));
    __m128i last = _mm_unpackhi_epi8(x, x);  // the last byte, to all sixteen places
    last = _mm_shufflehi_epi16(last, 0xFF);
    last = _mm_unpackhi_epi64(last, last);
    _mm_storeu_si128(at, _mm_add_epi8(x, before));
    before = _mm_add_epi8(before, last);
  }
  if (i > 0) sum = row[i - 1];
#endif
  for (; i < count; ++i) {
    sum = std::uint8_t(sum + row[i]);
    row[i] = sum;
  }
}

void join_float_row(std::uint8_t* row, std::size_t count, std::uint8_t* out) {
  add_along_row(row, 4 * count);
  const std::uint8_t *top = row, *high = row + count, *low = row + 2 * count, *least = row + 3 * count;
  std::size_t i = 0;
#if defined(__SSE2__)
  const auto load = [](const std::uint8_t* at) {
    return _mm_loadu_si128(reinterpret_cast<const __m128i*>(at));
  };
  for (; i + 16 <= count; i += 16) {
    const __m128i a = load(least + i), b = load(low + i), c = load(high + i), d = load(top + i);
    const __m128i ab[] = {_mm_unpacklo_epi8(a, b), _mm_unpackhi_epi8(a, b)};
    const __m128i cd[] = {_mm_unpacklo_epi8(c, d), _mm_unpackhi_epi8(c, d)};
    auto* const to = reinterpret_cast<__m128i*>(out + 4 * i);
    for (int half = 0; half < 2; ++half) {
      _mm_storeu_si128(to + 2 * half, _mm_unpacklo_epi16(ab[half], cd[half]));
      _mm_storeu_si128(to + 2 * half + 1, _mm_unpackhi_epi16(ab[half], cd[half]));
    }
  }
#endif
  for (; i < count; ++i) {
    out[4 * i] = least[i];
    out[4 * i + 1] = low[i];
    out[4 * i + 2] = high[i];
    out[4 * i + 3] = top[i];
  }
}

}  // namespace swardline
