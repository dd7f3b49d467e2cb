// OGC Styled Layer Descriptor 1.0 files (OGC 02-070) for desktop maps.
#include <fmt/format.h>

#include "swardline/base/files.hpp"
#include "swardline/base/text.hpp"
#include "swardline/store/store.hpp"

namespace swardline {
namespace {

// One hue, light to dark; a photocopy keeps the order because the lightness falls evenly.
std::string ramp_colour(double share) {
  const double light[] = {238, 244, 250};
  const double dark[] = {16, 52, 92};
  int rgb[3];
  for (int i = 0; i < 3; ++i) rgb[i] = int(light[i] + (dark[i] - light[i]) * share + 0.5);
  return fmt::format("#{:02x}{:02x}{:02x}", rgb[0], rgb[1], rgb[2]);
}

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

std::string score_style(const std::vector<double>& bands) {
  std::string entries;
  for (std::size_t i = 0; i <= bands.size(); ++i) {
    // An interval's quantity is its upper, open end: whole percents below the next band's first.
    const double upper = i < bands.size() ? bands[i] * 100 - 0.5 : 100.5;
    const double share = bands.empty() ? 1 : double(i) / double(bands.size());
    entries += fmt::format("            <ColorMapEntry color=\"{}\" quantity=\"{}\" label=\"{}\"/>\n",
                           ramp_colour(share), shortest(upper), band_text(bands, i));
  }
  entries +=
      "            <ColorMapEntry color=\"#ffffff\" quantity=\"255.5\" opacity=\"0\" label=\"no score, or "
      "excluded\"/>\n";
  return document(
      "score",
      fmt::format("        <Rule>\n          <RasterSymbolizer>\n          <ColorMap type=\"intervals\">\n"
                  "{}          </ColorMap>\n          </RasterSymbolizer>\n        </Rule>\n",
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
      {"score.sld", score_style(bands)}, {"plots.sld", plots_style()}, {"sites.sld", sites_style()}};
  std::vector<std::filesystem::path> written;
  for (const auto& [name, text] : files) {
    write_whole(folder / name, text);
    written.push_back(folder / name);
  }
  return written;
}

}  // namespace swardline
