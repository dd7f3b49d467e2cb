#include "swardline/effort/pilot.hpp"

#include <cpl_string.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <memory>
#include <system_error>
#include <vector>

#include "swardline/base/text.hpp"
#include "swardline/geo/gdal_errors.hpp"

namespace swardline {
namespace {

/// season -> plot -> count
using Seasons = std::map<std::string, std::map<std::string, double>>;

/// Sums kept as Welford (1962) does: exact enough for counts in the thousands.
class Spread {
 public:
  void add(double value) {
    ++n_;
    const double from_mean = value - mean_;
    mean_ += from_mean / n_;
    squares_ += from_mean * (value - mean_);
  }
  [[nodiscard]] int n() const { return n_; }
  [[nodiscard]] double mean() const { return mean_; }
  [[nodiscard]] double sd() const { return n_ > 1 ? std::sqrt(squares_ / (n_ - 1)) : 0; }

 private:
  int n_ = 0;
  double mean_ = 0;
  double squares_ = 0;
};

class Table {
 public:
  Table(const std::filesystem::path& file, const std::vector<std::string>& codes, Flags& flags)
      : file_(file), codes_(codes), flags_(flags) {}

  std::map<std::string, Seasons> read() {
    const GdalErrors errors;
    const std::unique_ptr<GDALDataset> dataset(
        GDALDataset::Open(file_.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR));
    if (!dataset || dataset->GetLayerCount() == 0) {
      stop("pilot", 0, fmt::format("cannot be read as a table ({}).", errors.first("it has none")),
           "Check effort.pilot in the plan.");
      return {};
    }
    OGRLayer* layer = dataset->GetLayer(0);
    for (const char* name : {"species", "plot", "count"})
      if (column(*layer, name) < 0) {
        stop("pilot", 0, fmt::format("has no column {}.", name),
             "A pilot has the columns species, plot and count, and season where there are two.");
        return {};
      }
    long long row = 1;  // the heading
    for (const OGRFeatureUniquePtr& feature : *layer) take(*layer, *feature, ++row);
    if (!errors.errors().empty())
      stop("pilot", row, errors.errors().front() + ".", "Mend the file.");
    else if (row == 1)
      stop("pilot", 0, "holds no count.", "Give a row for each plot and species, or leave pilot out.");
    return std::move(counts_);
  }

 private:
  static int column(OGRLayer& layer, const char* name) { return layer.GetLayerDefn()->GetFieldIndex(name); }

  static std::string text(OGRLayer& layer, const OGRFeature& row, const char* name) {
    const int field = column(layer, name);
    return field < 0 ? std::string() : CPLString(row.GetFieldAsString(field)).Trim();
  }

  void take(OGRLayer& layer, const OGRFeature& feature, long long row) {
    const std::string species = text(layer, feature, "species");
    const std::string plot = text(layer, feature, "plot");
    const std::string cell = text(layer, feature, "count");
    if (species.empty() && plot.empty() && cell.empty()) return;
    if (species.empty() || plot.empty()) {
      stop("pilot", row, fmt::format("has no {}.", species.empty() ? "species" : "plot"), "Fill it in.");
      return;
    }
    if (std::find(codes_.begin(), codes_.end(), species) == codes_.end()) {
      const std::string nearest = nearest_word(species, codes_);
      stop("unknown species", row, fmt::format("{} is the code of no sheet.", species),
           nearest.empty() ? "Give it a sheet, or leave its rows out."
                           : fmt::format("Did you mean {}?", nearest));
      return;
    }
    int count = -1;
    const auto [end, failed] = std::from_chars(cell.data(), cell.data() + cell.size(), count);
    if (failed != std::errc() || end != cell.data() + cell.size() || count < 0) {
      stop("pilot count", row, fmt::format("'{}' is not a count.", cell),
           "Write a whole number; leave the row out where the plot was not counted.");
      return;
    }
    if (!counts_[species][text(layer, feature, "season")].emplace(plot, count).second)
      stop("pilot plot twice", row, fmt::format("{} has plot {} twice in one season.", species, plot),
           "Keep one row for each plot, species and season.");
  }

  void stop(const char* check, long long row, const std::string& meaning, const std::string& remedy) {
    flags_.add(Severity::stop, check,
               {file_.filename().string(), 0, row > 0 ? fmt::format("row {}", row) : std::string()}, meaning,
               remedy);
  }

  const std::filesystem::path& file_;
  const std::vector<std::string>& codes_;
  Flags& flags_;
  std::map<std::string, Seasons> counts_;
};

void add_pairs(const std::map<std::string, double>& before, const std::map<std::string, double>& after,
               PilotCounts& counts) {
  Spread first, second, change, sum;
  for (const auto& [plot, later] : after) {
    const auto earlier = before.find(plot);
    if (earlier == before.end()) continue;
    first.add(earlier->second);
    second.add(later);
    change.add(later - earlier->second);
    sum.add(later + earlier->second);
  }
  counts.pairs = change.n();
  counts.sd_of_differences = change.sd();
  const double both = first.sd() * second.sd();
  if (change.n() > 1 && both > 0)  // the covariance from the variances of sums and differences
    counts.correlation = (sum.sd() * sum.sd() - change.sd() * change.sd()) / (4 * both);
}

PilotCounts counts_of(const Seasons& seasons) {
  PilotCounts counts;
  Spread spread;
  const auto latest = seasons.rbegin();
  for (const auto& [plot, count] : latest->second) {
    spread.add(count);
    counts.empty_plots += count == 0 ? 1 : 0;
  }
  counts.plots = spread.n();
  counts.mean = spread.mean();
  counts.sd = spread.sd();
  if (seasons.size() > 1) add_pairs(std::next(latest)->second, latest->second, counts);
  return counts;
}

}  // namespace

std::string why_silent(const PilotCounts& counts) {
  const bool one = counts.plots == 1;
  const std::string plots = fmt::format("{} plot{}", counts.plots, one ? "" : "s");
  if (counts.empty_plots == counts.plots)
    return fmt::format("{} all zero tell{} nothing about spread", plots, one ? "s" : "");
  if (counts.plots < least_pilot_plots)
    return fmt::format("{} tell{} nothing about spread", plots, one ? "s" : "");
  return counts.sd > 0 ? std::string() : plots + " with the same count tell nothing about spread";
}

Pilot read_pilot(const std::filesystem::path& file, const std::vector<std::string>& codes, Flags& flags) {
  Pilot pilot;
  for (const auto& [species, seasons] : Table(file, codes, flags).read()) pilot[species] = counts_of(seasons);
  return pilot;
}

}  // namespace swardline
