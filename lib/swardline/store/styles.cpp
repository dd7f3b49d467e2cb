// OGC Styled Layer Descriptor 1.0 files (OGC 02-070) for desktop maps.
#include <fmt/format.h>

#include <cmath>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/habitat/band_colours.hpp"
#include "swardline/habitat/score_season.hpp"
#include "swardline/store/store.hpp"

namespace swardline {
namespace {

std::string document(const std::string& name, const std::string& rules) {
  return fmt::format(
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n"
      "<StyledLayerDescriptor version=\"1.0.0\" xmlns=\"http://www.opengis.net/sld\" "
      "xmlns:ogc=\"http://www.opengis.net/ogc\" xmlns:xsi=\"http://www.w3.org/2001/XMLSchema-instance\" "
      "xsi:schemaLocation=\"http://www.opengis.net/sld "
      "http://schemas.opengis.net/sld/1.0.0/StyledLayerDescriptor.xsd\">\n"
      "  <NamedLayer>\n    <Name>{0}</Name>\n    <UserStyle>\n      <Title>{0}</Title>\n      "
      "<FeatureTypeStyle>\n"
      "{1}      </FeatureTypeStyle>\n    </UserStyle>\n  </NamedLayer>\n</StyledLayerDescriptor>\n",
      xml_escape(name), rules);
}

std::string entry(const std::string& colour, double quantity, const std::string& label) {
  return fmt::format("            <ColorMapEntry color=\"{}\" quantity=\"{}\"{}/>\n", colour,
                     shortest(quantity), label.empty() ? "" : fmt::format(" label=\"{}\"", label));
}

// The standard's colour map runs from entry to entry and knows no classes, so a band is two entries of one
// colour: its first value and the last before the next band's. `unit` is what a score of 1 is in the map,
// `last` how far under the next band a band's last value lies.
std::string score_style(const char* name, const std::vector<double>& bands, double unit, double last) {
  std::string entries;
  for (std::size_t i = 0; i <= bands.size(); ++i) {
    const std::string colour = band_fill(i, bands.size() + 1);
    const auto edge = [&](std::size_t at) { return std::round(bands[at] * 100) / 100 * unit; };
    entries += entry(colour, i == 0 ? 0 : edge(i - 1), band_text(bands, i));
    entries += entry(colour, i < bands.size() ? edge(i) - last : unit, "");
  }
  if (unit > 1)
    entries +=
        "            <ColorMapEntry color=\"#ffffff\" opacity=\"0\" quantity=\"255\" label=\"no score, or "
        "excluded\"/>\n";
  return document(name, fmt::format("        <Rule>\n          <RasterSymbolizer>\n          <ColorMap>\n"
                                    "{}          </ColorMap>\n          </RasterSymbolizer>\n        "
                                    "</Rule>\n",
                                    entries));
}

std::string plot_rule(const char* title, int spare, const char* fill, const char* mark) {
  return fmt::format(
      "        <Rule>\n          <Title>{0}</Title>\n          <ogc:Filter><ogc:PropertyIsEqualTo>"
      "<ogc:PropertyName>spare</ogc:PropertyName><ogc:Literal>{1}</ogc:Literal></ogc:PropertyIsEqualTo></"
      "ogc:Filter>\n"
      "          <PointSymbolizer><Graphic><Mark><WellKnownName>{3}</WellKnownName>"
      "<Fill><CssParameter name=\"fill\">{2}</CssParameter></Fill>"
      "<Stroke><CssParameter "
      "name=\"stroke\">#000000</CssParameter></Stroke></Mark><Size>7</Size></Graphic></PointSymbolizer>\n"
      "          <TextSymbolizer><Label><ogc:PropertyName>name</ogc:PropertyName></Label>"
      "<Font><CssParameter name=\"font-size\">9</CssParameter></Font>"
      "<LabelPlacement><PointPlacement><Displacement><DisplacementX>5</DisplacementX><DisplacementY>5</"
      "DisplacementY>"
      "</Displacement></PointPlacement></LabelPlacement></TextSymbolizer>\n        </Rule>\n",
      title, spare, fill, mark);
}

std::string plots_style() {
  return document("plots",
                  plot_rule("plot", 0, "#000000", "circle") + plot_rule("spare", 1, "#ffffff", "circle"));
}

std::string sites_style() {
  return document(
      "sites",
      "        <Rule>\n          <Title>survey area</Title>\n          <PolygonSymbolizer>"
      "<Stroke><CssParameter name=\"stroke\">#000000</CssParameter>"
      "<CssParameter name=\"stroke-width\">1.2</CssParameter></Stroke></PolygonSymbolizer>\n"
      "          <TextSymbolizer><Label><ogc:PropertyName>code</ogc:PropertyName></Label></TextSymbolizer>\n"
      "        </Rule>\n");
}

}  // namespace

std::vector<std::filesystem::path> write_styles(const std::filesystem::path& folder,
                                                const std::vector<double>& bands) {
  make_folder(folder);
  const std::vector<std::pair<std::string, std::string>> files = {
      {"score.sld", score_style("score", bands, 100, 1)},
      {"score-float.sld", score_style("score-float", bands, 1, 0.0001)},
      {"plots.sld", plots_style()},
      {"sites.sld", sites_style()}};
  std::vector<std::filesystem::path> written;
  for (const auto& [name, text] : files) {
    write_whole(folder / name, text);
    written.push_back(folder / name);
  }
  return written;
}

}  // namespace swardline
