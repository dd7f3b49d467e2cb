#include "swardline/returns/flag_list.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <fstream>
#include <tuple>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"

namespace swardline {

const char* name_of(const ReturnFlag& flag) {
  for (const ReturnCheck& check : return_checks())
    if (check.number == flag.check) return check.name;
  return "";
}

const char* state_of(const ReturnFlag& flag) {
  if (flag.severity == Severity::note) return "listed";
  return flag.settled ? "confirmed" : "open";
}

std::string row_ranges(const std::vector<RowAt>& rows) {
  std::string text;
  for (std::size_t i = 0; i < rows.size();) {
    std::size_t end = i + 1;
    while (end < rows.size() && rows[end].file == rows[i].file && rows[end].row == rows[end - 1].row + 1)
      ++end;
    text += fmt::format("{}{}", text.empty() ? "" : "; ", rows[i].row);
    if (end - i > 1) text += fmt::format("–{}", rows[end - 1].row);
    i = end;
  }
  return text;
}

std::vector<CheckSum> sum_by_check(const std::vector<ReturnFlag>& flags, std::size_t examples) {
  const std::vector<ReturnCheck>& checks = return_checks();
  std::vector<CheckSum> sums(2 * checks.size());  // then what checks of another severity only say
  for (std::size_t i = 0; i < flags.size(); ++i) {
    const auto check = std::find_if(checks.begin(), checks.end(),
                                    [&](const ReturnCheck& c) { return c.number == flags[i].check; });
    if (check == checks.end()) throw Defect("a flag of no check");
    const bool note = flags[i].severity == Severity::note;
    const bool only_said = flags[i].severity != check->severity;
    CheckSum& sum = sums[std::size_t(check - checks.begin()) + (only_said ? checks.size() : 0)];
    sum.check = &*check;
    sum.severity = flags[i].severity;
    ++(note ? sum.listed : flags[i].settled ? sum.confirmed : sum.open);
    if (!(flags[i].settled && !note) && sum.examples.size() < examples) sum.examples.push_back(i);
  }
  std::erase_if(sums, [](const CheckSum& sum) { return sum.check == nullptr; });
  std::stable_sort(sums.begin(), sums.end(), [](const CheckSum& a, const CheckSum& b) {
    return std::tuple(int(a.severity), a.check->number) < std::tuple(int(b.severity), b.check->number);
  });
  return sums;
}

std::size_t open_flags(const std::vector<ReturnFlag>& flags) {
  return std::size_t(std::count_if(flags.begin(), flags.end(), [](const ReturnFlag& flag) {
    return flag.severity != Severity::note && !flag.settled;
  }));
}

void write_flag_list(const std::filesystem::path& file, const Expected& expected, const Returns& returns,
                     const std::vector<ReturnFlag>& flags) {
  if (file.has_parent_path()) make_folder(file.parent_path());
  const std::filesystem::path part = part_path(file);
  std::ofstream out(part, std::ios::binary);
  out << "number,check,severity,file,row,rows,plot,column,value,reason,next_step,state\n";
  std::string line;
  for (const ReturnFlag& flag : flags) {
    line.clear();
    const bool of_rows = !flag.rows.empty();
    const std::array<std::string, 8> texts = {
        of_rows ? returns.files.at(flag.rows.front().file).file : std::string(),
        of_rows ? std::to_string(flag.rows.front().row) : std::string(),
        row_ranges(flag.rows),
        flag.plot >= 0 ? expected.plots.at(std::size_t(flag.plot)).name : std::string(),
        word(flag.column),
        flag.value,
        flag.reason,
        flag.next_step};
    fmt::format_to(std::back_inserter(line), "{},{},{}", flag.check, name_of(flag), word(flag.severity));
    for (const std::string& text : texts) (line += ',') += csv_field(text);
    fmt::format_to(std::back_inserter(line), ",{}\n", state_of(flag));
    out << line;
  }
  out.close();
  if (!out) {
    const std::string why = std::strerror(errno);
    discard_part(file);
    throw IoError({file.string(), 0, {}}, "cannot be written: " + why,
                  "Check the disk's space and permissions.");
  }
  publish(file);
}

}  // namespace swardline
