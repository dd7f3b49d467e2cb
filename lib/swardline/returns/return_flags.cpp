#include "swardline/returns/return_flags.hpp"

#include <algorithm>

#include "swardline/returns/flag_parts.hpp"

namespace swardline {

const std::vector<ReturnCheck>& return_checks() {
  static const std::vector<ReturnCheck> checks = {
      {1, "unknown plot", Severity::stop},
      {2, "check letter wrong", Severity::stop},
      {3, "fix far from plot", Severity::ask},
      {4, "poor accuracy", Severity::note},
      {5, "fix looks shifted", Severity::stop},
      {6, "axes or sign", Severity::stop},
      {7, "minutes typed as decimals", Severity::ask},
      {8, "blank count", Severity::ask},
      {9, "plot with no rows", Severity::ask},
      {10, "not a count", Severity::stop},
      {11, "area does not fit", Severity::ask},
      {12, "area larger than inside area", Severity::stop},
      {13, "frames x frame area", Severity::stop},
      {14, "outside window", Severity::ask},
      {15, "future or impossible date", Severity::stop},
      {16, "day/month doubt", Severity::ask},
      {17, "species not scored here", Severity::ask},
      {18, "look-alike pair", Severity::ask},
      {19, "observer not signed off", Severity::ask},
      {20, "unusual count", Severity::note},
      {21, "same sheet twice", Severity::stop},
      {22, "two teams, one plot", Severity::note},
      {23, "counts with wrong status", Severity::stop},
      {24, "spare out of order", Severity::note},
      {25, "recording habits", Severity::note},
      {26, "names damaged by software", Severity::stop},
      {27, "photo location", Severity::note},
  };
  return checks;
}

std::vector<ReturnFlag> check_returns(const Season& season, const Expected& expected, const Returns& returns,
                                      const CellText& cell) {
  namespace parts = return_parts;
  const parts::Material material = parts::material_of(season, expected, returns, cell);
  parts::Findings findings(returns);
  // Each looks at what those before it have said of a row.
  parts::check_names(material, findings);
  parts::check_statuses(material, findings);
  parts::check_dates(material, findings);
  parts::check_positions(material, findings);
  parts::check_counts(material, findings);
  parts::check_areas(material, findings);
  parts::check_sheets(material, findings);
  parts::check_spares(material, findings);
  parts::check_windows(material, findings);
  parts::check_species(material, findings);
  parts::check_observers(material, findings);
  parts::check_unusual(material, findings);
  parts::check_habits(material, findings);
  parts::check_photos(material, findings);
  return findings.take();
}

std::vector<Use> use_of_rows(const Returns& returns, const std::vector<ReturnFlag>& flags) {
  const std::vector<ReturnRow>& rows = returns.rows;
  std::vector<Use> use(rows.size(), Use::used);
  for (std::size_t i = 0; i < rows.size(); ++i)
    if (rows[i].left_out) use[i] = Use::kept_out;
  for (const ReturnFlag& flag : flags) {
    if (flag.settled || flag.severity == Severity::note) continue;
    if (flag.check == 9 && flag.column == ReturnColumn::species) continue;
    const Use left = flag.severity == Severity::stop ? Use::cannot_be_used : Use::kept_out;
    for (const RowAt& at : flag.rows) {
      const auto found = std::lower_bound(rows.begin(), rows.end(), at,
                                          [](const ReturnRow& row, const RowAt& a) { return row.at < a; });
      if (found == rows.end() || found->at != at) continue;
      Use& of_row = use[std::size_t(found - rows.begin())];
      of_row = std::max(of_row, left);
    }
  }
  return use;
}

const char* word(Use use) {
  return use == Use::used ? "used" : use == Use::kept_out ? "kept out" : "cannot be used";
}

}  // namespace swardline
