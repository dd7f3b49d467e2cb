// The blank form a team fills in and sends back.
#pragma once

#include <cstddef>
#include <filesystem>
#include <string>
#include <vector>

#include "swardline/returns/expected.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

struct FormWritten {
  std::size_t rows = 0, plots = 0;
};

/// Writes a form as CSV: one row for every plot that is due and every species looked for at its site, so that
/// a zero must be written. By site; in it planned plots, then spares, in their order. Transects with frames
/// have a row for each station.
///
/// Filled in already: plot, species, the area to search (the plot's area inside, rounded down to 0.01 m2; a
/// station's frame), station, frames and frame_m2, and 0 for `twice_stems` where a plot has no count-twice
/// zone: the box is empty where there is one. `sites` names those wanted; empty: all. Throws InputError for a
/// site without a plot, IoError when the file cannot be written.
FormWritten write_form(const std::filesystem::path& file, const Season& season, const Expected& expected,
                       const std::vector<std::string>& sites = {});

/// Whether the file is a form in which nobody has written: it may be written over.
[[nodiscard]] bool is_blank_form(const std::filesystem::path& file);

}  // namespace swardline
