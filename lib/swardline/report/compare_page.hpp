// Counts beside scores as a page for the botanists' meeting: false lows and false highs first, then what a
// proposed sheet would do, score bands, one row a factor with its sentence, and the indices as sentences.
#pragma once

#include <filesystem>
#include <string>

#include "swardline/compare/compare.hpp"

namespace swardline {

/// The page, whole: no network, no script, well-formed as XML too; charts read in black and white and say in
/// words what they show. The same comparison gives the same page.
[[nodiscard]] std::string compare_page(const Comparison& comparison, const Season& season,
                                       const EvaluatedSeason& counted);
/// Writes it. Throws IoError.
void write_compare_page(const Comparison& comparison, const Season& season, const EvaluatedSeason& counted,
                        const std::filesystem::path& file);

}  // namespace swardline
