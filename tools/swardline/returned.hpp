// What `receive`, `correct` and `run` share: a season's returns read, checked, stored and shown.
#pragma once

#include "commands.hpp"
#include "opened.hpp"
#include "swardline/returns/read_returns.hpp"
#include "swardline/returns/return_flags.hpp"
#include "swardline/store/returned.hpp"

namespace swardline::tool {

/// A day as --today has it, or the one it is. Throws an Error of the command line.
[[nodiscard]] Day today_of(const std::string& text);

struct Judged {
  Season season;
  Crs crs = Crs::wgs84();
  Expected expected;
  Returns returns;
  std::vector<ReturnFlag> flags;
  std::vector<Use> uses;
  Flags findings;  ///< about the inputs, not about what was counted
};

/// The plan, and what it expects back. Throws on a STOP.
[[nodiscard]] Judged open_returns(const Common& common, Day today);
/// Reads what came back with its corrections and checks it.
void judge(Judged& judged, int threads);
/// Into the store and `out/flags.csv`.
void keep(const Judged& judged, const std::string& command, const std::string& started);
/// Fingerprint of the lists of returns and corrections: what `keep` makes tables of.
[[nodiscard]] std::string inputs_of(const Plan& plan);
/// Whether the store's tables are of other returns or corrections than the folder holds.
[[nodiscard]] bool out_of_date(const Plan& plan);
/// Says what can be used and sums the flags up. `needs_person` while a STOP or ASK is open.
[[nodiscard]] Status show_returns(const Common& common, const Judged& judged, CPLJSONObject& json);

}  // namespace swardline::tool
