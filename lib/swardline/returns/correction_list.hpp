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
/// column. `otherwise_when` is put where the table has no day; empty: it must have one. Throws InputError for
/// the first line that is not complete, with how many more there are.
[[nodiscard]] std::vector<ListedCorrection> list_corrections(const std::filesystem::path& table,
                                                             const std::vector<ReceivedFile>& ledger,
                                                             const ColumnMap& columns,
                                                             const std::string& otherwise_when);

}  // namespace swardline
