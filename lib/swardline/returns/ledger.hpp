// The season's returns as they came: files under `returns/`, named by day and content, and their list.
#pragma once

#include <filesystem>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/returns/returns.hpp"
#include "swardline/season/plan.hpp"

namespace swardline {

/// A file or folder as messages name it: from the season folder on, where it lies there.
[[nodiscard]] std::string shown_in(const Plan& plan, const std::filesystem::path& path);

/// `returns/received.csv`.
[[nodiscard]] std::filesystem::path ledger_file(const Plan& plan);

/// What the list holds, in the order of receipt; empty where there is none. Throws InputError for a list that
/// cannot be read, and for a line without file or fingerprint.
[[nodiscard]] std::vector<ReceivedFile> read_ledger(const Plan& plan);

/// Files given that were taken, those that were there already (NOTE, not taken again), and those put back.
struct TakenIn {
  std::vector<ReceivedFile> taken;
  std::vector<ReceivedFile> there_already;
  std::vector<ReceivedFile> put_back;  ///< received before, and lost from the folder since
};

/// Takes files in: all of them, or none where one cannot be used.
///
/// Each is copied untouched to "2027-06-14-3f9a1c02-north_team.csv": the day, the first eight digits of its
/// fingerprint, and the name it came under. The copy is read and checked (InputError: no table, no heading
/// for a column that is needed, rows of unequal length, a heading of [returns.columns] that no file of the
/// season has), flushed and renamed into place; the list is written last. A process killed on the way loses
/// no earlier return; a copy that did not reach the list is taken up when the same file is given again, and
/// so is one that was received and is lost from the folder.
///
/// `estimated` says that an estimate was made since files were last taken in: these are then a new version of
/// the season's returns. The caller holds the season's lock (FolderLock).
TakenIn take_in(const std::vector<std::filesystem::path>& files, const Plan& plan, Day today, Flags& flags,
                bool estimated = false);

}  // namespace swardline
