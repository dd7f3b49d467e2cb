#include "returned.hpp"

#include <fmt/format.h>

#include <chrono>

#include "swardline/base/dates.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/corrections.hpp"
#include "swardline/returns/flag_list.hpp"
#include "swardline/returns/ledger.hpp"
#include "swardline/returns/observers.hpp"

namespace swardline::tool {
namespace {

// "north_team.csv row 14: …"; where no plot is known the reason begins so by itself.
std::string example_line(const Judged& judged, const ReturnFlag& flag) {
  std::string place;
  if (!flag.rows.empty())
    place = fmt::format("{} row {}: ", judged.returns.files.at(flag.rows.front().file).original,
                        flag.rows.front().row);
  if (flag.reason.starts_with(place)) place.clear();
  return fmt::format("        {}{} {}", place, flag.reason, flag.next_step);
}

void show_check(const Common& common, const Judged& judged, const CheckSum& sum) {
  const std::size_t shown = sum.severity == Severity::note ? sum.listed : sum.open;
  std::string line =
      fmt::format("{:<4}  {}: {}", word(sum.severity), sum.check->name, grouped(std::int64_t(shown)));
  if (sum.confirmed > 0) line += fmt::format(" ({} more confirmed)", grouped(std::int64_t(sum.confirmed)));
  say(common, line);
  for (const std::size_t i : sum.examples) say(common, example_line(judged, judged.flags[i]));
  if (shown > sum.examples.size() && !sum.examples.empty())
    say(common, fmt::format("        … and {} more in {}", grouped(std::int64_t(shown - sum.examples.size())),
                            (judged.season.plan.out / "flags.csv").string()));
}

// Tables made of less than they were made of before would lose counts without a word.
CPLJSONObject check_json(const CheckSum& sum) {
  CPLJSONObject object;
  object.Add("number", sum.check->number);
  object.Add("check", sum.check->name);
  object.Add("severity", word(sum.severity));
  object.Add("open", GInt64(sum.open));
  object.Add("confirmed", GInt64(sum.confirmed));
  object.Add("listed", GInt64(sum.listed));
  return object;
}

}  // namespace

void refuse_what_is_lost(const Plan& plan) {
  const KnownReturns known = known_returns(plan.store);
  const std::vector<ReceivedFile> ledger = read_ledger(plan);
  const auto listed = [&ledger](const std::string& file) {
    return std::any_of(ledger.begin(), ledger.end(),
                       [&](const ReceivedFile& one) { return one.file == file; });
  };
  const auto refuse = [&plan](const std::filesystem::path& list, const std::string& what) {
    throw InputError({shown_in(plan, list), 0, {}}, what,
                     fmt::format("Put {} back from a copy; if it is meant, delete {} and run again.",
                                 shown_in(plan, plan.returns.folder), shown_in(plan, plan.store)));
  };
  const auto lost = std::find_if_not(known.files.begin(), known.files.end(), listed);
  if (lost != known.files.end())
    refuse(ledger_file(plan), fmt::format("does not list {}, and the store holds counts of it", *lost));
  const std::size_t corrections = read_corrections(plan, ledger).size();
  if (std::int64_t(corrections) < known.corrections)
    refuse(corrections_file(plan), fmt::format("holds {} corrections, and the store was made with {}",
                                               corrections, known.corrections));
}

Day today_of(const std::string& text) {
  using namespace std::chrono;
  if (text.empty()) return Day(floor<days>(system_clock::now()).time_since_epoch().count());
  try {
    (void)decimal_year(text);
  } catch (const InputError&) {
    throw Error(Status::command_line, {}, fmt::format("--today {} is no date.", text),
                "Write it like 2027-05-28.");
  }
  const year_month_day date{year(std::stoi(text.substr(0, 4))), month(unsigned(std::stoi(text.substr(5, 2)))),
                            day(unsigned(std::stoi(text.substr(8, 2))))};
  return Day(sys_days(date).time_since_epoch().count());
}

std::string last_received(const Plan& plan) {
  std::string last;
  for (const ReceivedFile& file : read_ledger(plan)) last = std::max(last, file.received);
  return last;
}

Judged open_returns(const Common& common, Day today, std::optional<FolderLock>* lock) {
  Judged judged;
  judged.season = read_season(common.plan, judged.findings);
  judged.findings.throw_if_stopped();
  const Plan& plan = judged.season.plan;
  if (lock != nullptr) lock->emplace(plan.folder);
  refuse_what_is_lost(plan);
  judged.crs = Crs::from_text(plan.crs, plan.crs_place);
  judged.expected = read_expected(judged.season, judged.crs, today, judged.findings);
  judged.expected.observers = read_observers(judged.season, judged.findings);
  judged.findings.throw_if_stopped();
  return judged;
}

void judge(Judged& judged, int threads) {
  // What is said of a file as it is taken in is found again as it is read.
  Flags again;
  judged.returns = read_returns(judged.season, judged.expected, again, threads);
  judged.findings = each_once(judged.findings, again);
  judged.findings.throw_if_stopped();
  judged.flags = check_returns(judged.season, judged.expected, judged.returns);
  judged.uses = use_of_rows(judged.returns, judged.flags);
}

std::string inputs_of(const Judged& judged) {
  const Plan& plan = judged.season.plan;
  std::string prints;
  for (const std::filesystem::path& list : {ledger_file(plan), corrections_file(plan), plan.file})
    prints += std::filesystem::exists(list) ? content_fingerprint(list) : std::string("none");
  prints += Store(plan.store).inputs_of_last("draw").value_or("none");
  for (const Sheet& sheet : judged.season.sheets) prints += sheet.code + sheet.name + sheet.common;
  for (const auto& [site, species] : judged.expected.searched) {
    prints += site;
    for (const std::size_t one : species) prints += fmt::format(" {}", one);
  }
  for (const ReturnFlag& flag : judged.flags)
    prints += fmt::format("{} {} {} {} {} {}\n", flag.check, state_of(flag), row_ranges(flag.rows),
                          flag.value, flag.reason, flag.next_step);
  for (const Use use : judged.uses) prints += char('0' + int(use));
  return text_fingerprint(prints);
}

bool out_of_date(const Judged& judged) {
  return !judged.returns.files.empty() && inputs_of_returns(judged.season.plan.store) != inputs_of(judged);
}

bool behind_the_folder(const Plan& plan) {
  const KnownReturns known = known_returns(plan.store);
  const std::vector<ReceivedFile> ledger = read_ledger(plan);
  return known.files.size() != ledger.size() ||
         known.corrections != std::int64_t(read_corrections(plan, ledger).size());
}

void keep(const Judged& judged, const std::string& command, const std::string& started) {
  const Plan& plan = judged.season.plan;
  // The store last: while it is behind, the next look at the folder writes both again.
  write_flag_list(plan.out / "flags.csv", judged.expected, judged.returns, judged.flags);
  (void)write_returns(plan.store, {judged.season, judged.expected, judged.returns, judged.flags, judged.uses},
                      run_record(command, plan, inputs_of(judged), started));
}

Status show_returns(const Common& common, const Judged& judged, CPLJSONObject& json) {
  std::array<std::int64_t, 3> rows{};
  for (const Use use : judged.uses) ++rows[std::size_t(use)];
  say(common, fmt::format("{} rows in {} {}: {} used, {} kept out, {} cannot be used.",
                          grouped(std::int64_t(judged.uses.size())), judged.returns.files.size(),
                          judged.returns.files.size() == 1 ? "file" : "files", grouped(rows[0]),
                          grouped(rows[1]), grouped(rows[2])));
  CPLJSONArray checks;
  for (const CheckSum& sum : sum_by_check(judged.flags)) {
    show_check(common, judged, sum);
    checks.Add(check_json(sum));
  }
  const std::size_t open = open_flags(judged.flags);
  say(common, open == 0 ? "Nothing is open."
                        : fmt::format("{} open. All of them: {}. Answer them with swardline correct {} FILE.",
                                      grouped(std::int64_t(open)),
                                      (judged.season.plan.out / "flags.csv").string(), common.plan.string()));
  json.Add("files", GInt64(judged.returns.files.size()));
  json.Add("rows", GInt64(judged.uses.size()));
  json.Add("used", GInt64(rows[0]));
  json.Add("kept_out", GInt64(rows[1]));
  json.Add("cannot_be_used", GInt64(rows[2]));
  json.Add("open", GInt64(open));
  json.Add("checks", checks);
  return open == 0 ? Status::done : Status::needs_person;
}

}  // namespace swardline::tool
