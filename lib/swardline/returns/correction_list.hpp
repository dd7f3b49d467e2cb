// Reading a table of corrections. Private to returns.
#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "swardline/base/place.hpp"
#include "swardline/returns/returned_file.hpp"
#include "swardline/returns/returns.hpp"

namespace swardline {

struct ListedCorrection {
  Correction correction;
  Place place;  ///< its row in the table
};

/// The corrections of a table, each complete and with the ledger's name of its file and the form's of its
/// column. `today` is put where the table has no day, and no day may lie after it; no_day: every line has
/// its day, and it is not looked at again. Throws InputError for
/// the first line that is not complete, with how many more there are.
[[nodiscard]] std::vector<ListedCorrection> list_corrections(const std::filesystem::path& table,
                                                             const std::vector<ReceivedFile>& ledger,
                                                             const ColumnMap& columns, Day today);

}  // namespace swardline
