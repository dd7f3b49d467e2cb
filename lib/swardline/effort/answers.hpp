// One species' answers. Private to this folder.
#pragma once

#include "swardline/effort/effort.hpp"
#include "swardline/effort/sample_size.hpp"

namespace swardline {

/// Answers the questions of one plan, species by species.
class Answers {
 public:
  Answers(const EffortSpec& spec, const std::vector<SiteWork>& sites, double possible_plots);

  [[nodiscard]] std::vector<Answer> of(const ExpectedSpread& spread) const;
  [[nodiscard]] Reach reach(const ExpectedSpread& spread, int planned) const;

 private:
  [[nodiscard]] Answer limits(const ExpectedSpread& spread) const;
  [[nodiscard]] Answer change(const ExpectedSpread& spread) const;
  [[nodiscard]] Answer occupied(const ExpectedSpread& spread) const;
  [[nodiscard]] Answer occupied_change(const ExpectedSpread& spread) const;
  [[nodiscard]] Answer find_one(const ExpectedSpread& spread) const;
  [[nodiscard]] bool change_known(const ExpectedSpread& spread) const;
  [[nodiscard]] double sd_for_change(const ExpectedSpread& spread) const;
  void finish(Need& need) const;

  const EffortSpec& spec_;
  const std::vector<SiteWork>& sites_;
  double possible_;
  ChangeTest test_;
  Revisit revisit_;
};

}  // namespace swardline
