// Changes to a sheet in plain option words, for trying out: never written anywhere.
#pragma once

#include <array>
#include <string>

#include "swardline/season/sheet.hpp"

namespace swardline {

/// The sheet with another score for one class of a class factor. A class that was excluded is scored then.
/// Throws InputError: no such factor or two of them, a factor that is no table of classes, a score outside
/// 0–1.
[[nodiscard]] Sheet with_class_score(const Sheet& sheet, const std::string& layer,
                                     const std::string& class_code, double score);

/// The sheet with other corners of a trapezoid; infinite ones are open shoulders. Throws InputError likewise,
/// and where corners fall.
[[nodiscard]] Sheet with_corners(const Sheet& sheet, const std::string& layer,
                                 const std::array<double, 4>& corners);

/// What differs between two sheets of a species, in words: "cover GL 0.3 to 0.8; canopy 25 to 30"; empty
/// where they score alike.
[[nodiscard]] std::string changes_in_words(const Sheet& now, const Sheet& then);

}  // namespace swardline
