#include "swardline/returns/form.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <set>
#include <tuple>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/returns/table.hpp"
#include "swardline/returns/words.hpp"

namespace swardline {
namespace {

using Row = std::array<std::string, return_columns>;

std::string& cell(Row& row, ReturnColumn column) { return row[static_cast<std::size_t>(column)]; }

void add_row(const Row& row, std::string& text) {
  for (std::size_t i = 0; i < row.size(); ++i) {
    if (i > 0) text += ',';
    text += csv_field(row[i]);
  }
  text += "\r\n";  // RFC 4180
}

std::string heading_row() {
  Row headings;
  for (std::size_t i = 0; i < return_columns; ++i) headings[i] = word(static_cast<ReturnColumn>(i));
  std::string text;
  add_row(headings, text);
  return text;
}

/// Never more than there is: whole hundredths, with grace for what binary fractions lose.
std::string square_metres(double area) { return shortest(std::floor(area * 100 + 1e-6) / 100); }

std::vector<const ExpectedPlot*> due_plots(const Expected& expected, const std::vector<std::string>& sites) {
  const std::set<std::string> wanted(sites.begin(), sites.end());
  std::set<std::string> met;
  std::vector<const ExpectedPlot*> plots;
  for (const ExpectedPlot& plot : expected.plots) {
    if (!plot.due || (!wanted.empty() && wanted.count(plot.site) == 0)) continue;
    met.insert(plot.site);
    plots.push_back(&plot);
  }
  for (const std::string& site : wanted)
    if (met.count(site) == 0) {
      std::vector<std::string> known;
      for (const ExpectedPlot& plot : expected.plots) known.push_back(plot.site);
      const std::string nearest = nearest_word(site, known);
      throw InputError(
          {}, fmt::format("no plot is due at a site {}", site),
          nearest.empty() ? "Name a site of the draw." : fmt::format("Did you mean {}?", nearest));
    }
  const auto key = [](const ExpectedPlot* plot) {
    return std::tie(plot->site, plot->spare, plot->order, plot->stratum, plot->name);
  };
  std::sort(plots.begin(), plots.end(), [&](const auto* a, const auto* b) { return key(a) < key(b); });
  return plots;
}

class Form {
 public:
  explicit Form(const Season& season) : season_(season), text_(heading_row()) {}

  void add(const ExpectedPlot& plot, const std::vector<std::size_t>& sheets) {
    ++written_.plots;
    const bool by_station = plot.transect && plot.stations > 0;
    for (int station = by_station ? 1 : 0; station <= (by_station ? plot.stations : 0); ++station)
      for (const std::size_t sheet : sheets) add(plot, season_.sheets.at(sheet).code, station);
  }

  FormWritten write(const std::filesystem::path& file) const {
    write_whole(file, text_);
    return written_;
  }

 private:
  void add(const ExpectedPlot& plot, const std::string& species, int station) {
    Row row;
    cell(row, ReturnColumn::plot) = plot.name;
    cell(row, ReturnColumn::species) = species;
    const auto& frames = season_.plan.transect.frames;
    if (station > 0 && frames) {
      const std::string area = square_metres(frames->size_m[0] * frames->size_m[1]);
      cell(row, ReturnColumn::station) = std::to_string(station);
      cell(row, ReturnColumn::frames) = "1";
      cell(row, ReturnColumn::frame_m2) = area;
      cell(row, ReturnColumn::area_searched_m2) = area;
    } else {
      cell(row, ReturnColumn::area_searched_m2) = square_metres(plot.inside_m2);
    }
    if (plot.twice_m2 <= 0) cell(row, ReturnColumn::twice_stems) = "0";
    add_row(row, text_);
    ++written_.rows;
  }

  const Season& season_;
  std::string text_;
  FormWritten written_;
};

}  // namespace

bool is_blank_form(const std::filesystem::path& file) {
  std::error_code failed;
  if (!std::filesystem::is_regular_file(file, failed) ||
      std::filesystem::file_size(file, failed) > Table::largest)
    return false;
  const std::string headings = heading_row(), text = read_whole(file);
  if (!text.starts_with(headings)) return false;
  // Where nobody has written a date, nobody has counted.
  for (std::size_t at = headings.size(); at < text.size();) {
    const std::size_t first = text.find(',', at), end = std::min(text.find('\n', at), text.size() - 1);
    if (first == text.npos || first + 1 >= text.size() || first > end || text[first + 1] != ',') return false;
    at = end + 1;
  }
  return true;
}

FormWritten write_form(const std::filesystem::path& file, const Season& season, const Expected& expected,
                       const std::vector<std::string>& sites) {
  Form form(season);
  for (const ExpectedPlot* plot : due_plots(expected, sites)) {
    const auto searched = expected.searched.find(plot->site);
    if (searched != expected.searched.end()) form.add(*plot, searched->second);
  }
  return form.write(file);
}

}  // namespace swardline
