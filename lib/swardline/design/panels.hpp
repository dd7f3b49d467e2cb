// Panels: the plots that share a place in the revisit pattern, and the seasons they are due in.
//
// McDonald 2003, Environmental Monitoring and Assessment 85:277-292. A panel is a run of consecutive ranks of
// the draw order, in which every rank has the same chance and runs that begin together are spread, so each
// panel is a fair and spread sample of its stratum.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/season/plan.hpp"

namespace swardline {

struct Panel {
  std::string name;  ///< "A" for the only panel of its part, else "B1", "B2", … in the order they are met
  std::size_t part = 0;  ///< of the pattern
  int first = 0;         ///< season of the first visit, 0 for the start; below 0 where it began before
};

class PanelScheme {
 public:
  explicit PanelScheme(const PanelsSpec& spec);

  [[nodiscard]] const std::vector<Panel>& panels() const { return panels_; }
  [[nodiscard]] std::optional<std::size_t> index(const std::string& name) const;
  [[nodiscard]] bool due(std::size_t panel, int year) const;
  [[nodiscard]] bool due(std::size_t panel) const { return due(panel, spec_.year); }
  /// The seasons plots are drawn for, this one at least included.
  [[nodiscard]] std::vector<int> years() const;
  [[nodiscard]] std::vector<int> years_due(std::size_t panel) const;
  /// Plots of every panel where `a_season` are wanted each season: whole numbers; where they do not divide,
  /// panels differ by one.
  [[nodiscard]] std::vector<int> sizes(int a_season) const;
  [[nodiscard]] const PanelsSpec& spec() const { return spec_; }

 private:
  PanelsSpec spec_;
  std::vector<Panel> panels_;
};

/// The panel of each of `count` ranks of a draw order, in runs proportional to `sizes`.
[[nodiscard]] std::vector<std::size_t> panels_of_ranks(const std::vector<int>& sizes, int count);

/// One panel in one stratum.
struct StratumPanel {
  std::string stratum, panel;
  int plots = 0, spares = 0;
  double chance_per_m2 = 0;  ///< of the panel alone
  std::vector<int> due;      ///< years
  bool now = false;          ///< due this season
};

/// Who is due when, for people.
struct PanelTable {
  struct Year {
    int year = 0;
    std::vector<std::string> due;
    int plots = 0;
  };
  std::string pattern;
  int start = 0, year = 0;
  std::vector<Year> years;
  std::vector<StratumPanel> strata;  ///< by stratum, then panel
};
/// "  2027  A B1     60" for every year, this season marked.
[[nodiscard]] std::vector<std::string> in_words(const PanelTable& table);
[[nodiscard]] std::string to_json(const PanelTable& table, const std::string& indent);

}  // namespace swardline
