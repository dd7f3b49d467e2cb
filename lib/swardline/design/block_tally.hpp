// Sums of scores and slopes by site and block. Private to the ranking of blocks.
#pragma once

#include <cstdint>
#include <map>
#include <vector>

#include "swardline/design/blocks.hpp"

namespace swardline {

struct BlockKey {
  std::size_t site = 0;  ///< index into Sites::sites
  BlockNumber number;
  friend auto operator<=>(const BlockKey&, const BlockKey&) = default;
};

/// Whole numbers throughout, so that the order of adding does not matter.
struct SpeciesSums {
  std::int64_t scored = 0, excluded = 0, no_score = 0;  ///< mm²
  std::int64_t percent = 0;                             ///< mm² times whole percents
  std::vector<std::int64_t> ground_of, lost_to;  ///< by category: mm², and mm² times percents short of 100
};

struct BlockSums {
  std::int64_t ground = 0;             ///< mm²
  std::int64_t sloped = 0, slope = 0;  ///< mm² with a slope, and mm² times hundredths of a degree
  std::int64_t steepest = 0;           ///< hundredths of a degree
  std::vector<SpeciesSums> species;
  void add(const BlockSums& other);
};

using BlockTally = std::map<BlockKey, BlockSums>;

/// Throws InputError for class values that no legend names.
[[nodiscard]] BlockTally tally_blocks(const BlockGrid& blocks, const Plan& plan, const Sites& sites,
                                      const Layers& layers, const Model& model, int threads,
                                      const Progress& progress);

}  // namespace swardline
