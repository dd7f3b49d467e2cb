// One species' counts beside its scores, as part of any page. Private to this folder.
#pragma once

#include <string>

#include "swardline/compare/compare.hpp"

namespace swardline {

/// Cautions, false lows and highs, a proposed sheet, score bands, each factor, agreement, what is kept apart.
/// `id`: a plain word for links, one of its kind on the page; `level`: of its headings, 3 for <h3>.
[[nodiscard]] std::string compared_species(const Comparison& comparison, const Season& season,
                                           const EvaluatedSeason& counted, const SpeciesComparison& species,
                                           const std::string& id, int level);
/// How it was worked out, with sources.
[[nodiscard]] std::string compare_methods();

}  // namespace swardline
