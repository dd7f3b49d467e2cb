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
  const std::size_t shown = sum.check->severity == Severity::note ? sum.listed : sum.open;
  std::string line =
      fmt::format("{:<4}  {}: {}", word(sum.check->severity), sum.check->name, grouped(std::int64_t(shown)));
  if (sum.confirmed > 0) line += fmt::format(" ({} more confirmed)", grouped(std::int64_t(sum.confirmed)));
  say(common, line);
  for (const std::size_t i : sum.examples) say(common, example_line(judged, judged.flags[i]));
  if (shown > sum.examples.size() && !sum.examples.empty())
    say(common, fmt::format("        … and {} more in {}", grouped(std::int64_t(shown - sum.examples.size())),
                            (judged.season.plan.out / "flags.csv").string()));
}

CPLJSONObject check_json(const CheckSum& sum) {
  CPLJSONObject object;
  object.Add("number", sum.check->number);
  object.Add("check", sum.check->name);
  object.Add("severity", word(sum.check->severity));
  object.Add("open", GInt64(sum.open));
  object.Add("confirmed", GInt64(sum.confirmed));
  object.Add("listed", GInt64(sum.listed));
  return object;
}

}  // namespace

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

Judged open_returns(const Common& common, Day today) {
  Judged judged;
  judged.season = read_season(common.plan, judged.findings);
  judged.findings.throw_if_stopped();
  const Plan& plan = judged.season.plan;
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

std::string inputs_of(const Plan& plan) {
  std::string prints;
  for (const std::filesystem::path& list : {ledger_file(plan), corrections_file(plan)})
    prints += std::filesystem::exists(list) ? content_fingerprint(list) : std::string("none");
  return text_fingerprint(prints);
}

bool out_of_date(const Plan& plan) {
  return !read_ledger(plan).empty() && inputs_of_returns(plan.store) != inputs_of(plan);
}

void keep(const Judged& judged, const std::string& command, const std::string& started) {
  const Plan& plan = judged.season.plan;
  (void)write_returns(plan.store, {judged.season, judged.expected, judged.returns, judged.flags, judged.uses},
                      run_record(command, plan, inputs_of(plan), started));
  write_flag_list(plan.out / "flags.csv", judged.expected, judged.returns, judged.flags);
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
