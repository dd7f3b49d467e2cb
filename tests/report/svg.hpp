// SVG read back with other people's XML readers.
#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "swardline/geo/geometry.hpp"

namespace report_test {

struct Element {
  std::string name;
  std::map<std::string, std::string> attributes;
  std::string text;
  [[nodiscard]] std::string get(const std::string& attribute) const;  ///< fails the test where there is none
  [[nodiscard]] double number(const std::string& attribute) const;
  [[nodiscard]] bool is(const std::string& element, const std::string& css_class) const;
};

/// Every element of a document or of pieces of one, in document order, entities resolved (GDAL's reader).
[[nodiscard]] std::vector<Element> elements_of(const std::string& svg);
/// Those of this name, and of this class where one is given.
[[nodiscard]] std::vector<Element> all(const std::vector<Element>& elements, const std::string& name,
                                       const std::string& css_class = "");

/// Whether xmllint, which is strict where GDAL's reader is not, finds the file well-formed.
[[nodiscard]] bool well_formed(const std::filesystem::path& file);

/// The numbers of a path or transform, in order.
[[nodiscard]] std::vector<double> numbers_in(const std::string& text);

/// The ground a name covers on the sheet.
[[nodiscard]] swardline::Box box_of_name(const Element& text);

}  // namespace report_test
