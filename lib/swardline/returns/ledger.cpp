#include "swardline/returns/ledger.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <system_error>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/cells.hpp"
#include "swardline/returns/returned_file.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

constexpr std::size_t print_digits = 8;

/// The ending of a name, by which some formats are known.
std::string extension_of(const fs::path& file) {
  const std::string extension = file.extension().string();
  const bool plain = extension.size() > 1 && extension.size() <= 11 &&
                     safe_file_name(extension.substr(1)) == extension.substr(1);
  return plain ? extension : std::string();
}

std::string kept_name(const fs::path& file, const std::string& day, std::string_view print) {
  const std::string extension = extension_of(file);
  const std::string name = file.filename().string();
  return fmt::format("{}-{}-{}{}", day, print, safe_file_name(name.substr(0, name.size() - extension.size())),
                     extension);
}

/// Formats that keep a part of what they hold beside the file.
void refuse_halves(const fs::path& file) {
  const std::string name = file.filename().string();
  std::error_code none;
  const fs::path journal = file.string() + "-wal";
  if (fs::exists(journal, none) && fs::file_size(journal, none) > 0)
    throw InputError({name, 0, {}}, "is open in another program, which keeps changes beside it",
                     "Close it there and give it again.");
  const std::string extension = lower_ascii(extension_of(file));
  if (extension == ".shp" || extension == ".shx")
    throw InputError({name, 0, {}}, "is one of several files of a shapefile and holds no counts",
                     "Give its table, the file that ends in .dbf.");
}

/// A folder for copies that are not taken yet, empty at first and gone at last.
class Waiting {
 public:
  explicit Waiting(fs::path folder) : folder_(std::move(folder)) {
    clear();
    make_folder(folder_);
  }
  ~Waiting() { clear(); }
  Waiting(const Waiting&) = delete;
  Waiting& operator=(const Waiting&) = delete;
  [[nodiscard]] fs::path of(const std::string& name) const { return folder_ / name; }

 private:
  void clear() noexcept {
    try {
      std::error_code ignored;
      fs::remove_all(folder_, ignored);
    } catch (...) {  // NOLINT(bugprone-empty-catch): what is left is cleared the next time
    }
  }
  fs::path folder_;
};

class Intake {
 public:
  Intake(const Plan& plan, Day today, Flags& flags, bool estimated)
      : plan_(plan),
        folder_(plan.returns.folder),
        day_(iso_day(today)),
        flags_(flags),
        columns_(plan),
        ledger_(read_ledger(plan)) {
    int version = 0;
    for (const ReceivedFile& one : ledger_) version = std::max(version, one.version);
    version_ = ledger_.empty() ? 1 : version + (estimated ? 1 : 0);
  }

  TakenIn take(const std::vector<fs::path>& files) {
    make_folder(folder_);
    const Waiting waiting(folder_ / ".part");
    for (const fs::path& file : files) prepare(file, waiting);
    check_map();
    for (const std::string& name : to_move_) rename_flushed(waiting.of(name), folder_ / name);
    if (result_.taken.empty()) return std::move(result_);
    write_ledger();
    return std::move(result_);
  }

 private:
  /// Copies and checks one file; nothing is in its place yet.
  void prepare(const fs::path& file, const Waiting& waiting) {
    const std::string original = file.filename().string();
    std::error_code failed;
    const fs::file_status status = fs::status(file, failed);
    if (fs::is_directory(status))
      throw InputError({original.empty() ? file.string() : original, 0, {}}, "is a folder, not a file",
                       "Name the files inside it.");
    if (fs::exists(status) && !fs::is_regular_file(status))
      throw InputError({original, 0, {}}, "is not a file", "Save the table as a file and give that.");
    // What is far too large is looked at where it lies: its copy might fill the disk.
    if (fs::file_size(file, failed) > Table::largest && !failed) check(file, original);
    const std::string print = content_fingerprint(file);
    if (put_back(file, print, waiting) || noticed(original, print)) return;
    refuse_halves(file);
    ReceivedFile received{left_behind(print), original, print, day_, version_};
    if (received.file.empty()) {
      received.file = free_name(file, print);
      copy(file, print, received.file, waiting);
      check(waiting.of(received.file), original);
    } else {
      check(folder_ / received.file, original);
    }
    result_.taken.push_back(std::move(received));
  }

  void copy(const fs::path& file, const std::string& print, const std::string& name, const Waiting& waiting) {
    if (copy_flushed(file, waiting.of(name)) != print)
      throw InputError({file.filename().string(), 0, {}}, "changed while it was read",
                       "Close it elsewhere, then give it again.");
    to_move_.push_back(name);
  }

  /// Whether this is a file that was received and is lost since.
  bool put_back(const fs::path& file, const std::string& print, const Waiting& waiting) {
    std::error_code failed;
    for (const ReceivedFile& one : ledger_) {
      if (one.fingerprint != print || fs::exists(folder_ / one.file, failed) || is_put_back(one.file))
        continue;
      copy(file, print, one.file, waiting);
      result_.put_back.push_back(one);
      return true;
    }
    return false;
  }
  [[nodiscard]] bool is_put_back(const std::string& name) const {
    return std::find(to_move_.begin(), to_move_.end(), name) != to_move_.end();
  }

  void check(const fs::path& copy, const std::string& original) {
    const ReturnedFile read(copy, original, columns_, flags_);
    RowCells row;
    for (std::uint32_t i = 2; i <= read.table().last_row(); ++i) {
      read.table().read_row(i, row);
      if (!is_blank(row)) return;
    }
    throw InputError({original, 0, {}}, "has headings and no row", "Send the filled form.");
  }

  bool noticed(const std::string& original, const std::string& print) {
    for (const auto* list : {&ledger_, &result_.taken})
      for (const ReceivedFile& one : *list) {
        if (one.fingerprint != print) continue;
        flags_.add(Severity::note, "same file twice", {original, 0, {}},
                   fmt::format("is the same, byte for byte, as {}, received on {}; it was not taken again.",
                               one.original, one.received));
        result_.there_already.push_back(one);
        return true;
      }
    return false;
  }

  /// A copy of the same content that never reached the list; empty: none.
  [[nodiscard]] std::string left_behind(const std::string& print) const {
    const std::string digits = '-' + print.substr(0, print_digits);
    std::error_code failed;
    for (const auto& entry : fs::directory_iterator(folder_, failed)) {
      const std::string name = entry.path().filename().string();
      if (name.find(digits) == std::string::npos || !entry.is_regular_file(failed) || in_ledger(name))
        continue;
      if (content_fingerprint(entry.path()) == print) return name;
    }
    return {};
  }

  [[nodiscard]] bool in_ledger(const std::string& name) const {
    const auto is = [&](const ReceivedFile& one) { return one.file == name; };
    return std::any_of(ledger_.begin(), ledger_.end(), is) ||
           std::any_of(result_.taken.begin(), result_.taken.end(), is);
  }

  /// Two contents may share eight digits of sixteen.
  [[nodiscard]] std::string free_name(const fs::path& file, const std::string& print) const {
    const std::string name = kept_name(file, day_, std::string_view(print).substr(0, print_digits));
    std::error_code failed;
    return fs::exists(folder_ / name, failed) || in_ledger(name) ? kept_name(file, day_, print) : name;
  }

  /// A heading of the map may stand in earlier files alone, or in one that another team has yet to send: it
  /// is mistyped where a file of now has headings that nobody knows.
  void check_map() {
    for (auto one = ledger_.rbegin(); one != ledger_.rend() && !columns_.not_met().empty(); ++one) {
      Flags said_before;
      std::error_code failed;
      if (!fs::exists(folder_ / one->file, failed)) continue;
      const ReturnedFile read(folder_ / one->file, one->original, columns_, said_before);
    }
    const std::vector<std::string> missing = columns_.not_met();
    const auto unknown = [](const Flag& flag) { return flag.check == "other columns"; };
    const bool strange = std::any_of(flags_.all().begin(), flags_.all().end(), unknown);
    if (missing.empty() || result_.taken.empty() || !strange) return;
    throw InputError(columns_.place(),
                     fmt::format("{} {} in no file of the season's returns", in_words(missing),
                                 missing.size() == 1 ? "is a heading" : "are headings"),
                     "Write each as it stands in the file, or leave it out of [returns.columns].");
  }

  void write_ledger() {
    std::string text = "file,original,fingerprint,received,version\n";
    ledger_.insert(ledger_.end(), result_.taken.begin(), result_.taken.end());
    for (const ReceivedFile& one : ledger_)
      text += fmt::format("{},{},{},{},{}\n", csv_field(one.file), csv_field(one.original), one.fingerprint,
                          one.received, one.version);
    write_whole(ledger_file(plan_), text);
  }

  const Plan& plan_;
  fs::path folder_;
  std::string day_;
  Flags& flags_;
  ColumnMap columns_;
  std::vector<ReceivedFile> ledger_;
  int version_ = 1;
  TakenIn result_;
  std::vector<std::string> to_move_;
};

}  // namespace

std::string shown_in(const Plan& plan, const fs::path& path) {
  const fs::path near = path.lexically_normal().lexically_proximate(plan.folder.lexically_normal());
  return near.empty() || *near.begin() == ".." ? path.string() : near.string();
}

fs::path ledger_file(const Plan& plan) { return plan.returns.folder / "received.csv"; }

std::vector<ReceivedFile> read_ledger(const Plan& plan) {
  std::vector<ReceivedFile> ledger;
  const fs::path file = ledger_file(plan);
  std::error_code failed;
  if (!fs::exists(file, failed)) return ledger;
  const std::string name = shown_in(plan, file);
  const std::vector<std::string> wanted = {"file", "original", "fingerprint", "received", "version"};
  const Table table(name, read_whole(file), [&](const std::string& heading) {
    return std::find(wanted.begin(), wanted.end(), heading) != wanted.end();
  });
  if (table.headings() != wanted)
    throw InputError(table.at_row(1), "does not begin with the headings " + in_words(wanted),
                     "It is written by the program: put it back from a copy.");
  RowCells row;
  for (std::uint32_t i = 2; i <= table.last_row(); ++i) {
    table.read_row(i, row);
    if (is_blank(row)) continue;
    const auto cell = [&](std::size_t at) { return std::string(without_guard(row.cells.at(at))); };
    const auto version = read_count(row.cells.at(4), 1000000);
    if (cell(0).empty() || cell(0) != fs::path(cell(0)).filename() || cell(2).empty() || !version)
      throw InputError(table.at_row(i), "names no file, no fingerprint or no version",
                       "It is written by the program: put it back from a copy.");
    ledger.push_back({cell(0), cell(1), cell(2), cell(3), *version});
  }
  return ledger;
}

TakenIn take_in(const std::vector<fs::path>& files, const Plan& plan, Day today, Flags& flags,
                bool estimated) {
  return Intake(plan, today, flags, estimated).take(files);
}

}  // namespace swardline
