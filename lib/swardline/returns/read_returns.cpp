#include "swardline/returns/read_returns.hpp"

#include <fmt/format.h>

#include <algorithm>

#include <memory>
#include <system_error>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/cells.hpp"
#include "swardline/returns/corrections.hpp"
#include "swardline/returns/ledger.hpp"
#include "swardline/returns/returned_file.hpp"
#include "swardline/returns/row_reader.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

/// Files of the ledger, each still what was received.
std::vector<std::shared_ptr<ReturnedFile>> read_files(const Plan& plan,
                                                      const std::vector<ReceivedFile>& ledger, Flags& flags) {
  const ColumnMap columns(plan);
  std::vector<std::shared_ptr<ReturnedFile>> files;
  for (const ReceivedFile& one : ledger) {
    const fs::path path = plan.returns.folder / one.file;
    std::error_code failed;
    if (!fs::exists(path, failed))
      throw InputError({shown_in(plan, path), 0, {}}, "was received but is not there",
                       fmt::format("Put it back from a copy, or give {} to receive again.", one.original));
    if (content_fingerprint(path) != one.fingerprint)
      throw InputError({shown_in(plan, path), 0, {}}, "is not what was received: somebody changed it",
                       "Put it back from a copy; values are put right with corrections.");
    files.push_back(std::make_shared<ReturnedFile>(path, one.original, columns, flags));
  }
  return files;
}

/// A date without a year is read by the day its file came, the same on any later day.
Day received_on(const ReceivedFile& file, Day otherwise) {
  const auto day = read_date(file.received, no_day);
  return day && day->day_first != no_day ? day->day_first : otherwise;
}

/// Copies that a killed run left before it wrote its list.
void name_left_behind(const Plan& plan, const std::vector<ReceivedFile>& ledger, Flags& flags) {
  std::vector<std::string> left;
  std::error_code failed;
  for (const auto& entry : fs::directory_iterator(plan.returns.folder, failed)) {
    const std::string name = entry.path().filename().string();
    const auto is = [&](const ReceivedFile& one) { return one.file == name; };
    if (!entry.is_regular_file(failed) || name.front() == '.' || name.ends_with(".part") ||
        entry.path() == ledger_file(plan) || entry.path() == corrections_file(plan) ||
        std::any_of(ledger.begin(), ledger.end(), is))
      continue;
    left.push_back(name);
  }
  if (left.empty()) return;
  std::sort(left.begin(), left.end());
  flags.add(Severity::ask, "not received", {shown_in(plan, plan.returns.folder), 0, {}},
            fmt::format("holds {} {} that {} not on the list of what was received; {} not read.", left.size(),
                        left.size() == 1 ? "file" : "files", left.size() == 1 ? "is" : "are",
                        left.size() == 1 ? left.front() + " was" : left.front() + " and others were"),
            "Give it to receive, or take it away.");
}

}  // namespace

Returns read_returns(const Season& season, const Expected& expected, Flags& flags, int threads) {
  const Plan& plan = season.plan;
  Returns returns;
  returns.files = read_ledger(plan);
  const auto files = read_files(plan, returns.files, flags);
  name_left_behind(plan, returns.files, flags);
  returns.corrections = read_corrections(plan, returns.files);
  lay_corrections(returns.corrections, corrections_file(plan).filename().string(), returns.files, files);
  const Known known(season, expected);
  std::size_t most = 0;
  for (const auto& file : files) most += file->fixes_only() ? 0 : file->table().last_row() - 1;
  returns.rows.reserve(most);
  std::vector<std::pair<std::string, std::vector<ReturnRow>>> fixes;
  for (std::size_t i = 0; i < files.size(); ++i) {
    const auto index = static_cast<std::uint32_t>(i);
    const bool alone = files[i]->fixes_only();
    if (alone) fixes.emplace_back(returns.files[i].original, std::vector<ReturnRow>());
    read_rows(*files[i], index, received_on(returns.files[i], expected.today), known, threads,
              alone ? fixes.back().second : returns.rows, returns.texts, flags);
    returns.sources.push_back(files[i]);
  }
  join_fixes(fixes, expected, returns.rows, flags);
  return returns;
}

}  // namespace swardline
