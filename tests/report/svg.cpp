#include "svg.hpp"

#include <cpl_minixml.h>
#include <doctest/doctest.h>

#include <cstdlib>
#include <sstream>

namespace report_test {
namespace {

void collect(const CPLXMLNode* node, std::vector<Element>& out) {
  for (; node != nullptr; node = node->psNext) {
    if (node->eType != CXT_Element) continue;
    const std::size_t here = out.size();
    out.push_back({node->pszValue, {}, {}});
    for (const CPLXMLNode* child = node->psChild; child != nullptr; child = child->psNext) {
      if (child->eType == CXT_Attribute) out[here].attributes[child->pszValue] = child->psChild->pszValue;
      if (child->eType == CXT_Text) out[here].text += child->pszValue;
    }
    collect(node->psChild, out);
  }
}

// Helvetica's advance widths in thousandths of the size (Adobe core font metrics, from memory); the
// sans-serif faces of most systems have the same.
double advance(char letter) {
  static const std::map<char, double> others{
      {'C', 722}, {'D', 722}, {'F', 611}, {'G', 778}, {'H', 722}, {'I', 278}, {'J', 500}, {'L', 556},
      {'M', 833}, {'N', 722}, {'O', 778}, {'Q', 778}, {'R', 722}, {'T', 611}, {'U', 722}, {'W', 944}};
  if (letter >= '0' && letter <= '9') return 556;
  const auto found = others.find(letter);
  return found == others.end() ? 667 : found->second;
}

}  // namespace

std::string Element::get(const std::string& attribute) const {
  const auto found = attributes.find(attribute);
  REQUIRE_MESSAGE(found != attributes.end(), name, " has no ", attribute);
  return found->second;
}

double Element::number(const std::string& attribute) const { return std::stod(get(attribute)); }

bool Element::is(const std::string& element, const std::string& css_class) const {
  const auto found = attributes.find("class");
  return name == element && found != attributes.end() && found->second == css_class;
}

std::vector<Element> elements_of(const std::string& svg) {
  CPLXMLNode* root = CPLParseXMLString(("<read>" + svg + "</read>").c_str());
  REQUIRE(root != nullptr);
  std::vector<Element> out;
  collect(root->psChild, out);
  CPLDestroyXMLNode(root);
  return out;
}

std::vector<Element> all(const std::vector<Element>& elements, const std::string& name,
                         const std::string& css_class) {
  std::vector<Element> out;
  for (const Element& element : elements)
    if (css_class.empty() ? element.name == name : element.is(name, css_class)) out.push_back(element);
  return out;
}

bool well_formed(const std::filesystem::path& file) {
  return std::system(("xmllint --noout --nonet '" + file.string() + "'").c_str()) == 0;
}

std::vector<double> numbers_in(const std::string& text) {
  std::string plain = text;
  for (std::size_t i = 0; i < plain.size(); ++i) {
    const bool sign = plain[i] == '-';
    if (sign && i > 0) plain.insert(i++, " ");
    if (!sign && plain[i] != '.' && (plain[i] < '0' || plain[i] > '9')) plain[i] = ' ';
  }
  std::vector<double> out;
  std::istringstream in(plain);
  for (double number = 0; in >> number;) out.push_back(number);
  return out;
}

swardline::Box box_of_name(const Element& text) {
  constexpr double size = 10;  // pixels; set for the class `name` in svg_definitions()
  double width = 0;
  for (const char letter : text.text) width += advance(letter) * size / 1000;
  const double x = text.number("x"), base = text.number("y");
  // Capitals stand 0.72 of the size above the base line (same metrics).
  return {x, base - 0.72 * size, x + width, base};
}

}  // namespace report_test
