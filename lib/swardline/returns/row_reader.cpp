#include "swardline/returns/row_reader.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <memory>

#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "swardline/returns/cells.hpp"
#include "swardline/returns/row_words.hpp"

namespace swardline {
namespace {

/// Answers to texts that come many times.
template <class Value>
class Memory {
 public:
  template <class Make>
  const Value& of(std::string_view text, const Make& make) {
    if (last_ != nullptr && *last_text_ == text) return *last_;
    auto found = answers_.find(text);
    if (found == answers_.end()) {
      constexpr std::size_t enough = 50000;  // a column of free text must not be kept twice
      if (answers_.size() >= enough) answers_.clear();
      found = answers_.emplace(std::string(text), make(text)).first;
    }
    last_text_ = &found->first;
    last_ = &found->second;
    return *last_;
  }

 private:
  ByText<Value> answers_;
  const std::string* last_text_ = nullptr;
  const Value* last_ = nullptr;
};

/// The first row of something, and how many there are.
struct Seen {
  std::uint32_t first_row = 0;
  std::size_t count = 0;
  std::string example;
  void add(std::uint32_t row, std::string_view text) {
    if (count++ > 0) return;
    first_row = row;
    example = text;
  }
  void add(const Seen& other) {
    if (count == 0) {
      first_row = other.first_row;
      example = other.example;
    }
    count += other.count;
  }
};

/// A number with three digits behind its comma, until the file's other numbers tell what the comma is.
struct WaitingName {
  std::size_t at;  ///< into the file's rows
  ReturnColumn column;
};

/// One worker: one run of a file's rows.
class RunReader {
 public:
  RunReader(const ReturnedFile& source, std::uint32_t file, Day received, const Known& known)
      : source_(source), file_(file), received_(received), known_(known) {}

  void read(std::uint32_t begin, std::uint32_t end) {
    rows.reserve(end - begin);
    for (std::uint32_t row = begin; row < end; ++row) {
      source_.table().read_row(row, cells_);
      if (!is_blank(cells_)) read_row(row);
    }
  }

  std::vector<ReturnRow> rows;
  TextPool texts;
  Seen points, commas, other_way, either_way;
  std::vector<WaitingName> waiting;

 private:
  [[nodiscard]] std::string_view cell(ReturnColumn column) const {
    if (overlay_ != nullptr)
      for (const auto& [which, text] : *overlay_)
        if (which == column) return trimmed(text);
    return trimmed(source_.cell(cells_, column));
  }
  void unread(ReturnColumn column) { row_->unread |= 1U << static_cast<unsigned>(column); }

  void read_row(std::uint32_t row) {
    row_ = &rows.emplace_back();
    row_->at = {file_, row};
    overlay_ = source_.overlay(row);
    row_->left_out = source_.left_out(row);
    read_names();
    read_day(row);
    read_times();
    read_counts();
    read_numbers(row);
    read_words();
  }

  void read_names() {
    named(ReturnColumn::plot, row_->plot, plots_, [&](std::string_view name) { return known_.plot(name); });
    named(ReturnColumn::species, row_->species, species_,
          [&](std::string_view name) { return known_.species(name); });
    row_->observer = texts.index_of(cell(ReturnColumn::observer));
    row_->second_observer = texts.index_of(cell(ReturnColumn::second_observer));
    row_->sheet = texts.index_of(cell(ReturnColumn::sheet_id));
    const std::string_view photos = cell(ReturnColumn::photos);
    row_->has_photo = !photos.empty() && names_a_photo(photos);
  }

  template <class Find>
  void named(ReturnColumn column, std::int32_t& index, Memory<std::int32_t>& memory, const Find& find) {
    const std::string_view text = cell(column);
    if (text.empty()) return;
    index = memory.of(text, find);
    if (index < 0) unread(column);
  }

  void read_day(std::uint32_t row) {
    const std::string_view text = cell(ReturnColumn::visit_date);
    if (text.empty()) return;
    const auto& date =
        dates_.of(text, [&](std::string_view written) { return read_date(written, received_); });
    if (!date) return unread(ReturnColumn::visit_date);
    const bool day_first = known_.day_first().value_or(true);
    const Day said = day_first ? date->day_first : date->month_first;
    const Day other = day_first ? date->month_first : date->day_first;
    row_->date = said != no_day ? said : other;
    if (date->ordered || said == other) return;
    if (said == no_day) return other_way.add(row, text);
    if (other == no_day) return;
    row_->date_doubtful = true;
    either_way.add(row, text);
  }

  void read_times() {
    time(ReturnColumn::start, row_->start);
    time(ReturnColumn::finish, row_->finish);
  }
  void time(ReturnColumn column, std::int16_t& minutes) {
    const std::string_view text = cell(column);
    if (text.empty()) return;
    if (const auto& read = times_.of(text, [](std::string_view written) { return read_time(written); }))
      minutes = *read;
    else
      unread(column);
  }

  void read_counts() {
    count(ReturnColumn::flowering_stems, row_->stems);
    count(ReturnColumn::twice_stems, row_->twice_stems);
    count(ReturnColumn::rosettes, row_->rosettes);
    count(ReturnColumn::frames, row_->frames);
    count(ReturnColumn::station, row_->station);
  }
  /// More stems than ten million nobody has counted on a plot.
  template <class Whole>
  static constexpr Whole most = std::min<std::int64_t>(std::numeric_limits<Whole>::max(), 10000000);
  template <class Whole>
  void count(ReturnColumn column, Whole& value) {
    const std::string_view text = cell(column);
    if (text.empty()) return;
    if (const auto read = read_count(text, most<Whole>))
      value = static_cast<Whole>(*read);
    else
      unread(column);
  }

  void read_numbers(std::uint32_t row) {
    number(row, ReturnColumn::area_searched_m2, "m2", areas_, row_->area_searched_m2);
    number(row, ReturnColumn::frame_m2, "m2", areas_, row_->frame_m2);
    number(row, ReturnColumn::tape_m, "m", lengths_, row_->tape_m);
    number(row, ReturnColumn::fix_accuracy_m, "m", lengths_, row_->fix_accuracy_m);
    degrees(row, ReturnColumn::lat, row_->lat);
    degrees(row, ReturnColumn::lon, row_->lon);
  }
  void number(std::uint32_t row, ReturnColumn column, std::string_view unit,
              Memory<std::optional<NumberRead>>& memory, float& value) {
    const std::string_view text = cell(column);
    if (text.empty()) return;
    const auto& read = memory.of(text, [&](std::string_view written) { return read_number(written, unit); });
    if (!read || read->value < 0) return unread(column);
    value = static_cast<float>(read->value);
    tell(row, text, read->decimals);
    if (read->decimals == Decimals::comma_or_thousands) waiting.push_back({rows.size() - 1, column});
  }
  void degrees(std::uint32_t row, ReturnColumn column, double& value) {
    const std::string_view text = cell(column);
    if (text.empty()) return;
    const auto read = read_degrees(text);
    if (!read) return unread(column);
    value = read->value;
    tell(row, text, read->decimals);
  }
  void tell(std::uint32_t row, std::string_view text, Decimals decimals) {
    if (decimals == Decimals::point) points.add(row, text);
    if (decimals == Decimals::comma) commas.add(row, text);
  }

  void read_words() {
    const auto read = [&](ReturnColumn column, auto& value, auto& memory, const auto& make) {
      const std::string_view text = cell(column);
      if (text.empty()) return;
      value = memory.of(text, make);
      if (value == std::decay_t<decltype(value)>::unknown) unread(column);
    };
    read(ReturnColumn::status, row_->fate, fates_, [](std::string_view text) { return fate_of(text); });
    read(ReturnColumn::certainty, row_->certainty, certainties_,
         [](std::string_view text) { return certainty_of(text); });
    read(ReturnColumn::count_method, row_->method, methods_,
         [](std::string_view text) { return method_of(text); });
    read(ReturnColumn::phase, row_->phase, phases_, [](std::string_view text) { return phase_of(text); });
  }

  const ReturnedFile& source_;
  std::uint32_t file_;
  Day received_;
  const Known& known_;
  ReturnRow* row_ = nullptr;
  RowCells cells_;
  const ReturnedFile::Overlay* overlay_ = nullptr;
  Memory<std::int32_t> plots_, species_;
  Memory<std::optional<DateRead>> dates_;
  Memory<std::optional<std::int16_t>> times_;
  Memory<std::optional<NumberRead>> areas_, lengths_;
  Memory<Fate> fates_;
  Memory<Certainty> certainties_;
  Memory<CountMethod> methods_;
  Memory<Phase> phases_;
};

/// What the whole file tells of its commas and dates, put to its rows and said.
class FileDoubts {
 public:
  FileDoubts(const std::string& name, std::span<ReturnRow> rows, Flags& flags)
      : name_(name), rows_(rows), flags_(flags) {}

  void add(const RunReader& run, std::size_t first) {
    points_.add(run.points);
    commas_.add(run.commas);
    other_way_.add(run.other_way);
    either_way_.add(run.either_way);
    for (const WaitingName& one : run.waiting) waiting_.push_back({first + one.at, one.column});
  }

  void settle(std::optional<bool> day_first) {
    settle_commas();
    settle_dates(day_first);
  }

 private:
  void settle_commas() {
    if (commas_.count == 0)
      for (const WaitingName& one : waiting_) forget(rows_[one.at], one.column);
    if (commas_.count == 0 || points_.count == 0) return;
    flags_.add(
        Severity::note, "points and commas", {name_, 0, {}},
        fmt::format("has decimal commas ({}, first '{}' in row {}) and decimal points ({}, first '{}' in row "
                    "{}); each was read as the decimal mark.",
                    cells(commas_.count), commas_.example, commas_.first_row, cells(points_.count),
                    points_.example, points_.first_row),
        "Look whether any of them parts thousands.");
  }

  void settle_dates(std::optional<bool> day_first) {
    if (!day_first) return;
    if (other_way_.count == 0) {
      for (ReturnRow& row : rows_) row.date_doubtful = false;
      return;
    }
    flags_.add(
        Severity::ask, "dates the other way", {name_, 0, {}},
        fmt::format("'{}' in row {} can only be {}, but the plan says {}; {}.", other_way_.example,
                    other_way_.first_row, *day_first ? "month first" : "day first",
                    *day_first ? "day first" : "month first",
                    either_way_.count == 0
                        ? "no other date of this file is in doubt"
                        : fmt::format("{} of this file that could be both are doubtful",
                                      either_way_.count == 1 ? "a date" : cells(either_way_.count, "dates"))),
        "Ask who filled it in.");
  }

  static std::string cells(std::size_t count, const char* what = "cells") {
    if (count == 1 && std::string_view(what) == "cells") return "1 cell";
    return fmt::format("{} {}", grouped(static_cast<std::int64_t>(count)), what);
  }

  static void forget(ReturnRow& row, ReturnColumn column) {
    float& value = column == ReturnColumn::area_searched_m2 ? row.area_searched_m2
                   : column == ReturnColumn::frame_m2       ? row.frame_m2
                   : column == ReturnColumn::tape_m         ? row.tape_m
                                                            : row.fix_accuracy_m;
    value = std::numeric_limits<float>::quiet_NaN();
    row.unread |= 1U << static_cast<unsigned>(column);
  }

  std::string name_;
  std::span<ReturnRow> rows_;
  Flags& flags_;
  Seen points_, commas_, other_way_, either_way_;
  std::vector<WaitingName> waiting_;
};

/// The worker's texts in the common pool.
void move_texts(RunReader& run, TextPool& texts) {
  std::vector<std::int32_t> common(run.texts.size());
  for (std::size_t i = 0; i < common.size(); ++i)
    common[i] = texts.index_of(run.texts.text(static_cast<std::int32_t>(i)));
  const auto move = [&](std::int32_t& index) {
    if (index >= 0) index = common[static_cast<std::size_t>(index)];
  };
  for (ReturnRow& row : run.rows) {
    move(row.observer);
    move(row.second_observer);
    move(row.sheet);
  }
}

}  // namespace

Known::Known(const Season& season, const Expected& expected) : day_first_(season.plan.returns.day_first) {
  plots_.reserve(expected.plots.size());
  for (std::size_t i = 0; i < expected.plots.size(); ++i)
    plots_.emplace(expected.plots[i].name, static_cast<std::int32_t>(i));
  for (std::size_t i = 0; i < season.sheets.size(); ++i)
    species_.insert_or_assign(lower_ascii(season.sheets[i].code), static_cast<std::int32_t>(i));
  for (std::size_t i = 0; i < season.sheets.size(); ++i)  // a code goes before a name
    for (const std::string& name : {season.sheets[i].name, season.sheets[i].common})
      if (!name.empty()) species_.emplace(lower_ascii(name), static_cast<std::int32_t>(i));
}

std::int32_t Known::plot(std::string_view cell) const {
  if (const auto found = plots_.find(cell); found != plots_.end()) return found->second;
  const auto found = plots_.find(upper_ascii(cell));
  return found == plots_.end() ? -1 : found->second;
}

std::int32_t Known::species(std::string_view cell) const {
  const auto found = species_.find(lower_ascii(cell));
  return found == species_.end() ? -1 : found->second;
}

void read_rows(const ReturnedFile& source, std::uint32_t file, Day received, const Known& known, int threads,
               std::vector<ReturnRow>& rows, TextPool& texts, Flags& flags) {
  const std::uint32_t count = source.table().last_row() - 1;
  constexpr std::uint32_t worth_a_thread = 4096;
  const int used = std::clamp(static_cast<int>(count / worth_a_thread), 1, std::max(threads, 1));
  std::vector<std::unique_ptr<RunReader>> runs(static_cast<std::size_t>(used));
  in_runs(count, used, [&](int worker, std::size_t begin, std::size_t end) {
    auto& run = runs[static_cast<std::size_t>(worker)];
    run = std::make_unique<RunReader>(source, file, received, known);
    run->read(static_cast<std::uint32_t>(begin) + 2, static_cast<std::uint32_t>(end) + 2);
  });
  const std::size_t before = rows.size();
  std::vector<std::size_t> starts;
  for (auto& run : runs) {
    starts.push_back(rows.size() - before);
    if (!run) continue;
    move_texts(*run, texts);
    rows.insert(rows.end(), run->rows.begin(), run->rows.end());
    run->rows = {};
  }
  FileDoubts doubts(source.table().name(), std::span(rows).subspan(before), flags);
  for (std::size_t i = 0; i < runs.size(); ++i)
    if (runs[i]) doubts.add(*runs[i], starts[i]);
  doubts.settle(known.day_first());
}

}  // namespace swardline
