// Species: outside their time, on ground their rule excludes, or not to be told from a look-alike.
#include <fmt/format.h>

#include <algorithm>
#include <map>
#include <vector>

#include "swardline/base/text.hpp"
#include "swardline/returns/flag_parts.hpp"
#include "swardline/season/days.hpp"

namespace swardline::return_parts {
namespace {

std::string site_name(const Material& material, const ExpectedPlot& plot) {
  const auto found = material.expected.site_names.find(plot.site);
  return found == material.expected.site_names.end() ? plot.site : found->second;
}

/// A count that nothing has spoken against yet.
bool sound_count(const Material& material, const Findings& findings, const Visit& visit, std::uint32_t r) {
  return has_count(material.row(r), visit) && !findings.any_open(r, {10, 15, 21, 23});
}

void out_of_window(const Material& material, const Visit& visit, const DayWindow& window,
                   const std::vector<std::uint32_t>& rows, Findings& findings) {
  const ReturnRow& row = material.row(rows.front());
  const bool early = row.date < window.from;
  std::string reason = fmt::format("{} at {} on {}: window {} {}.", short_name(material.sheet(row.species)),
                                   material.plot(visit.plot).name, short_date(row.date),
                                   early ? "begins" : "ends", short_date(early ? window.from : window.until));
  const bool zero =
      std::all_of(rows.begin(), rows.end(), [&](std::uint32_t r) { return material.row(r).stems == 0; });
  if (zero)
    reason += " None seen then tells little.";
  else if (!early)
    reason += row.has_photo ? " Capsules? There is a photo." : " Capsules? Photo?";
  findings.add({14, rows, visit.plot, ReturnColumn::visit_date, iso_date(row.date), std::move(reason),
                "Confirm the date where the plants could be counted that day, or correct it."});
}

/// Rows of a species on a plot that lie outside its window, over all visits: one question.
void windows_of_plot(const Material& material, std::span<const Visit> visits, Findings& findings) {
  const int shift = material.season.plan.returns.shift_days;
  std::map<std::int32_t, std::vector<std::uint32_t>> outside;
  std::map<std::int32_t, std::pair<const Visit*, DayWindow>> first;
  for (const Visit& visit : visits) {
    if (visit.date == no_day) continue;
    for (const std::uint32_t r : material.rows(visit)) {
      const ReturnRow& row = material.row(r);
      if (!sound_count(material, findings, visit, r) || findings.open(r, 16)) continue;
      const auto& sheet_window = material.sheet(row.species).window;
      if (!sheet_window) continue;
      const DayWindow window = window_at(*sheet_window, row.date, shift);
      if (window.holds(row.date)) continue;
      outside[row.species].push_back(r);
      first.try_emplace(row.species, &visit, window);
    }
  }
  for (const auto& [species, rows] : outside)
    out_of_window(material, *first.at(species).first, first.at(species).second, rows, findings);
}

class Species {
 public:
  Species(const Material& material, Findings& findings) : material_(material), findings_(findings) {
    for (const Sheet& sheet : material.season.sheets) {
      codes_.push_back(sheet.code);
      look_alikes_.push_back(look_alikes_of(sheet));
    }
  }

  void look_at(const Visit& visit) {
    for (const std::uint32_t r : material_.rows(visit)) {
      const ReturnRow& row = material_.row(r);
      if (findings_.open(r, 23)) continue;
      if (row.species < 0) {
        unknown(visit, r);
        continue;
      }
      certainty(visit, r);
      if (!sound_count(material_, findings_, visit, r) || row.stems == 0) continue;
      not_scored_here(visit, r);
      look_alike(visit, r);
    }
  }

 private:
  /// Code or name of the plants that this one is taken for, as people say them.
  [[nodiscard]] std::string look_alikes_of(const Sheet& sheet) const {
    std::vector<std::string> names;
    for (const LookAlike& other : sheet.look_alikes) {
      std::string name = other.of;
      for (const Sheet& one : material_.season.sheets)
        if (one.code == other.of) name = short_name(one);
      // Of one genus the second word is enough: "cannot be told from digitalis".
      const std::string genus = short_name(sheet).substr(0, 3);
      if (genus.size() == 3 && genus[1] == '.' && name.starts_with(genus)) name = name.substr(3);
      names.push_back(name);
    }
    return in_words(names);
  }

  void unknown(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    if (!carries_counts(fate_at(row, visit))) return;
    const std::string text = material_.text(r, ReturnColumn::species);
    const ExpectedPlot& plot = material_.plot(visit.plot);
    if (text.empty()) {
      if (written(row))
        add(17, visit, r, ReturnColumn::species, text,
            fmt::format("{}: {} stems of no species.", plot.name,
                        row.stems >= 0 ? fmt::format("{}", row.stems) : "some"),
            "Write the species' code, or leave the row out.");
      return;
    }
    if (text.back() == '?') {  // named no further: a find is a question, none found is none
      if (row.stems > 0)
        add(17, visit, r, ReturnColumn::species, text,
            fmt::format("{}: {} stems of '{}', a plant named no further.", plot.name, row.stems, text),
            row.has_photo ? "Look at the photo; write the species' code if it can be told."
                          : "Ask for a photo; write the species' code if it can be told.");
      return;
    }
    const std::string nearest = nearest_word(text, codes_);
    add(17, visit, r, ReturnColumn::species, text,
        fmt::format("{}: '{}' is no species of the season.{}", plot.name, text,
                    nearest.empty() ? "" : fmt::format(" Nearest: {}.", nearest)),
        "Confirm or correct.");
  }

  void certainty(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    if (row.certainty != Certainty::unknown || !carries_counts(fate_at(row, visit))) return;
    const std::string text = material_.text(r, ReturnColumn::certainty);
    add(18, visit, r, ReturnColumn::certainty, text,
        fmt::format("{}: '{}' in certainty is neither 'sure' nor 'not certain'.",
                    material_.plot(visit.plot).name, text),
        "Use sure or not certain.");
  }

  void not_scored_here(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    const ExpectedPlot& plot = material_.plot(visit.plot);
    const auto species = std::size_t(row.species);
    if (species >= plot.percent.size() || (plot.percent[species] != 0 && plot.percent[species] != -1)) return;
    std::string why = plot.percent[species] == 0 ? "score 0.00" : "excluded";
    if (species < plot.held_down.size() && plot.held_down[species] >= 0 &&
        std::size_t(plot.held_down[species]) < material_.expected.held_down.size())
      why += ", " + material_.expected.held_down[std::size_t(plot.held_down[species])];
    add(17, visit, r, ReturnColumn::species, material_.sheet(row.species).code,
        fmt::format("{} at {}, {} ({}). {}", short_name(material_.sheet(row.species)),
                    site_name(material_, plot), plot.name, why,
                    row.has_photo ? "There is a photo." : "Photo needed before use."),
        row.has_photo ? "Have the photo looked at, then confirm or correct the species."
                      : "Ask for a photo, then confirm or correct the species.");
  }

  void look_alike(const Visit& visit, std::uint32_t r) {
    const ReturnRow& row = material_.row(r);
    const std::string& others = look_alikes_[std::size_t(row.species)];
    if (others.empty() || row.has_photo || row.certainty != Certainty::sure ||
        findings_.any_open(r, {14, 17}))
      return;
    const std::string name = short_name(material_.sheet(row.species));
    if (row.phase == Phase::unknown) {
      const std::string text = material_.text(r, ReturnColumn::phase);
      add(18, visit, r, ReturnColumn::phase, text,
          fmt::format("{} at {}, no photo: '{}' is no phase, and without flowers it cannot be told from {}.",
                      name, material_.plot(visit.plot).name, text, others),
          "Use bud, flower, capsule or past.");
    } else if (row.phase == Phase::past) {
      add(18, visit, r, ReturnColumn::species, material_.sheet(row.species).code,
          fmt::format("{} at {}, phase 'past', no photo: cannot be told from {} without flowers.", name,
                      material_.plot(visit.plot).name, others),
          "Confirm the species if it was known in flower, or write 'not certain'.");
    }
  }

  void add(int check, const Visit& visit, std::uint32_t r, ReturnColumn column, std::string value,
           std::string reason, std::string next_step) {
    findings_.add(
        {check, {&r, 1}, visit.plot, column, std::move(value), std::move(reason), std::move(next_step)});
  }

  const Material& material_;
  Findings& findings_;
  std::vector<std::string> codes_, look_alikes_;  ///< by sheet
};

}  // namespace

void check_windows(const Material& material, Findings& findings) {
  const std::vector<Visit>& visits = material.visits;
  for (std::size_t begin = 0; begin < visits.size();) {
    std::size_t end = begin + 1;
    while (end < visits.size() && visits[end].plot == visits[begin].plot) ++end;
    windows_of_plot(material, std::span(visits).subspan(begin, end - begin), findings);
    begin = end;
  }
}

void check_species(const Material& material, Findings& findings) {
  Species species(material, findings);
  for (const Visit& visit : material.visits) species.look_at(visit);
}

}  // namespace swardline::return_parts
