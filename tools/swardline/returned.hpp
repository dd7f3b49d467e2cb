// What `receive`, `correct` and `run` share: a season's returns read, checked, stored and shown.
#pragma once

#include <optional>

#include "commands.hpp"
#include "opened.hpp"
#include "swardline/returns/read_returns.hpp"
#include "swardline/returns/return_flags.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {

/// A day as --today has it, or the one it is. Throws an Error of the command line.
[[nodiscard]] Day today_of(const std::string& text);

/// The day files were last taken in; empty where none were.
[[nodiscard]] std::string last_received(const Plan& plan);

/// Throws InputError where the store holds counts of files or corrections that the folder of returns no
/// longer lists.
void refuse_what_is_lost(const Plan& plan);

struct Judged {
  Season season;
  Crs crs = Crs::wgs84();
  Expected expected;
  Returns returns;
  std::vector<ReturnFlag> flags;
  std::vector<Use> uses;
  Flags findings;  ///< about the inputs, not about what was counted
};

/// The plan, and what it expects back. Throws on a STOP, and InputError where the store holds counts of files
/// or corrections that the folder of returns has lost. `lock`: the season's, taken before the store is read;
/// null: the caller holds it.
[[nodiscard]] Judged open_returns(const Common& common, Day today, std::optional<FolderLock>* lock = nullptr);
/// Reads what came back with its corrections and checks it.
void judge(Judged& judged, int threads);
/// Into `out/flags.csv` and, last, the store.
void keep(const Judged& judged, const std::string& command, const std::string& started);
/// Fingerprint of what `keep` makes tables of: lists of returns and corrections, the plan, the draw, and what
/// was judged of every row with today's observers, sheets and day.
[[nodiscard]] std::string inputs_of(const Judged& judged);
/// Whether the store's tables were made of anything else.
[[nodiscard]] bool out_of_date(const Judged& judged);
/// Whether the store's tables are of other files or corrections than the folder of returns lists: what a
/// killed run leaves. Reads the lists alone.
[[nodiscard]] bool behind_the_folder(const Plan& plan);
/// Says what can be used and sums the flags up. `needs_person` while a STOP or ASK is open.
[[nodiscard]] Status show_returns(const Common& common, const Judged& judged, CPLJSONObject& json);

}  // namespace swardline::tool
