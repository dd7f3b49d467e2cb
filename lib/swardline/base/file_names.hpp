// Names for a set of files, one for each of several codes.
#pragma once

#include <string>
#include <vector>

namespace swardline {

/// A safe file name (text.hpp) for each text, no two the same even where large and small letters are one
/// (memory cards). Texts that are file names already keep them; of the others that meet a name given out,
/// the second becomes "name-2", the third "name-3".
[[nodiscard]] std::vector<std::string> unique_file_names(const std::vector<std::string>& texts);

}  // namespace swardline
