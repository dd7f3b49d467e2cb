// The parts of the design page, in its order. A new part is one function and one row in design_sections().
// Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/report/design_page.hpp"

namespace swardline {

struct DesignFacts {
  const Certificate& certificate;
  const Flags& findings;
  const std::vector<MapFigure>& maps;
};

struct DesignSection {
  const char* id;
  const char* title;
  std::string (*body)(const DesignFacts& facts);  ///< markup; empty where the season has none of it
};
[[nodiscard]] const std::vector<DesignSection>& design_sections();

// One function a part, in the order of the page.
[[nodiscard]] std::string shortfalls_part(const DesignFacts& facts);
[[nodiscard]] std::string speaks_part(const DesignFacts& facts);
[[nodiscard]] std::string drawn_part(const DesignFacts& facts);
[[nodiscard]] std::string allocation_part(const DesignFacts& facts);
[[nodiscard]] std::string expected_part(const DesignFacts& facts);
[[nodiscard]] std::string strata_part(const DesignFacts& facts);
[[nodiscard]] std::string edge_part(const DesignFacts& facts);
[[nodiscard]] std::string lines_part(const DesignFacts& facts);
[[nodiscard]] std::string record_part(const DesignFacts& facts);
[[nodiscard]] std::string panels_part(const DesignFacts& facts);
[[nodiscard]] std::string merged_part(const DesignFacts& facts);
[[nodiscard]] std::string spread_part(const DesignFacts& facts);
[[nodiscard]] std::string closeness_part(const DesignFacts& facts);
[[nodiscard]] std::string by_hand_part(const DesignFacts& facts);
[[nodiscard]] std::string findings_part(const DesignFacts& facts);
[[nodiscard]] std::string maps_part(const DesignFacts& facts);
[[nodiscard]] std::string inputs_part(const DesignFacts& facts);
[[nodiscard]] std::string methods_part(const DesignFacts& facts);
[[nodiscard]] std::string care_part(const DesignFacts& facts);

}  // namespace swardline
