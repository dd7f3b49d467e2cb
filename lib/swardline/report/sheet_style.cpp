#include <fmt/format.h>

#include "swardline/report/sheet_layout.hpp"

namespace swardline::sheet {

const char* style() {
  static const std::string text_of_style = fmt::format(
      R"(
@page{{margin:10mm}}
*{{box-sizing:border-box;margin:0;padding:0}}
html{{-webkit-text-size-adjust:none}}
body{{color:#000;background:#fff;font:7.5pt/{line}mm "Liberation Sans",Arial,Helvetica,sans-serif}}
h1{{position:absolute;left:0;top:0;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}}
.patterns{{position:absolute}}
.sheet{{position:relative;width:{width}mm;height:{height}mm;overflow:hidden;margin:0 auto;break-after:page;break-inside:avoid}}
.sheet:last-child{{break-after:auto}}
b,th{{font-weight:700}}i,u{{font-style:normal;text-decoration:none}}
header{{height:{head}mm;position:relative;border-top:.9mm solid #000}}
h2{{position:absolute;left:0;top:1.2mm;height:7mm;line-height:7mm;white-space:nowrap;font-size:14pt}}
.code{{display:inline-block;height:7mm;line-height:6.3mm;padding:0 1.6mm;border:.35mm solid #000;font-size:17pt;vertical-align:top}}
.site{{padding-left:1mm}}
.when{{position:absolute;right:0;top:1.2mm;height:7mm;line-height:7mm;font-size:10pt;font-weight:700;white-space:nowrap}}
.second{{position:absolute;left:0;right:0;top:8.7mm;height:4mm;line-height:4mm;display:flex;justify-content:space-between;white-space:nowrap}}
.tick{{display:inline-block;width:3mm;height:3mm;border:.3mm solid #000;vertical-align:-.5mm}}
.top{{height:{map_h}mm;display:flex;justify-content:space-between}}
.map{{width:{map_w}mm;height:{map_h}mm;display:block}}
.side{{width:{side}mm;height:{map_h}mm;border:.35mm solid #000;padding:1mm;overflow:hidden}}
.side p{{white-space:nowrap;line-height:{line}mm}}
.rules{{margin-top:{gap}mm;white-space:nowrap}}
table{{width:{width}mm;table-layout:fixed;border-collapse:collapse;margin-top:{gap}mm}}
th,td{{padding:0 {pad}mm;text-align:left;vertical-align:middle;white-space:nowrap;overflow:hidden;line-height:{line}mm;border-bottom:.15mm solid #000;font-weight:400}}
tbody th,thead th{{font-weight:700}}
thead th{{border-bottom:.4mm solid #000}}
.species,.plots{{border-bottom:.4mm solid #000}}
.go,.m{{font-weight:700}}
.n,.m{{font-variant-numeric:tabular-nums}}
.plots tbody td,.plots tbody th{{line-height:{tight}mm;padding-top:.2mm}}.plots .over{{border-bottom:0;vertical-align:bottom}}.plots tbody .edge{{vertical-align:top}}.plots tbody .under{{vertical-align:middle;line-height:{line}mm}}
.form{{width:{form_w}mm;margin-left:.2mm}}
.form td,.form th{{border:{form_line}mm solid #000}}
.form thead th{{border-bottom:.4mm solid #000}}
.form .counts{{padding:0}}
.boxes{{display:grid}}
.boxes b{{height:{heads_in}mm;line-height:{heads_in}mm;padding:0 {count_pad}mm;overflow:hidden}}
.boxes .plain{{font-weight:400}}
.boxes i,.boxes b{{border-right:{form_line}mm solid #000}}
.boxes i{{height:{box}mm}}
.boxes.two i{{height:{row}mm;border-bottom:{form_line}mm solid #000}}
.boxes i:last-child,.boxes b:last-child{{border-right:0}}
.of{{text-align:right;vertical-align:bottom}}
.status{{height:{line}mm;white-space:nowrap}}
.foot{{position:absolute;left:0;right:0;bottom:0;height:{foot}mm;border:.35mm solid #000;padding:0 1mm}}
.foot p{{height:6.2mm;display:flex;justify-content:space-between;gap:3mm;white-space:nowrap}}
.foot.coded{{padding-right:14mm}}
.square{{position:absolute;right:0;top:0;width:13mm;height:13mm}}
.foot span{{display:flex;align-items:flex-end}}
.foot u{{width:18mm;height:5.4mm;margin-left:1mm;border-bottom:.25mm solid #000}}
.foot .tick{{margin:0 1mm .3mm}}
.foot .wide{{flex:1}}.foot .wide u{{flex:1}}.foot .long{{width:28mm}}
svg text{{font:2.65px "Liberation Sans",Arial,Helvetica,sans-serif;fill:#000;unicode-bidi:isolate}}
svg .tk{{text-anchor:middle}}
svg .order{{font-size:3.88px;font-weight:700;paint-order:stroke;stroke:#fff;stroke-width:.9px;stroke-linejoin:round}}
svg .name{{paint-order:stroke;stroke:#fff;stroke-width:.7px;stroke-linejoin:round}}
svg .p{{font-size:3.4px;font-weight:700;text-anchor:middle}}
svg path,svg rect,svg circle{{stroke:none;fill:none}}
svg .hx-a{{fill:url(#hx-a)}}svg .hx-b{{fill:url(#hx-b)}}svg .hx-c{{fill:url(#hx-c)}}svg .hx-d{{fill:url(#hx-d)}}
svg .dark{{stroke:#000;stroke-width:1}}
svg .frame{{stroke:#000;stroke-width:.35}}
svg .rule,svg .lead{{stroke:#000;stroke-width:.25}}
svg .lead{{stroke-width:.18}}
svg g>path:not([class]){{fill:#000}}
svg .magnetic{{stroke:#000;stroke-width:.3;stroke-dasharray:.9 .5}}
svg .survey{{stroke:#000;stroke-width:.55;stroke-linejoin:round}}
svg .verge{{stroke-width:.2}}
svg path.cut{{stroke:#000;stroke-width:.18}}
svg rect.cut{{stroke:#000;stroke-width:.2}}
svg .fence{{stroke:#000;stroke-width:.22}}
svg .posts{{stroke:#000;stroke-width:1.5;stroke-dasharray:.25 1.9}}
svg .crossing{{stroke:#000;stroke-width:.7}}
svg .parking{{fill:#fff;stroke:#000;stroke-width:.4}}
svg .walk{{stroke:#000;stroke-width:.35;stroke-dasharray:.35 .75;stroke-linejoin:round}}
svg .inset{{fill:#fff;stroke:#000;stroke-width:.35}}svg .site{{stroke:#000;stroke-width:.25}}svg .gone{{fill:#bbb}}svg .loop{{stroke:#000;stroke-width:.55}}
svg .unit,svg .transect{{stroke:#000;stroke-width:.35}}
svg .plot{{fill:#000;stroke:#fff;stroke-width:.3}}
svg .spare{{fill:#fff;stroke:#000;stroke-width:.35}}
svg .other{{fill:#fff;stroke:#000;stroke-width:.15}}
pattern path{{stroke:#000;stroke-width:.3}}
@media screen{{.sheet{{margin:6mm auto;outline:.3mm solid #000;outline-offset:4mm}}}}
)",
      fmt::arg("line", line), fmt::arg("tight", tight), fmt::arg("count_pad", count_pad),
      fmt::arg("width", page_width), fmt::arg("height", page_height), fmt::arg("head", head_height),
      fmt::arg("map_h", map_height), fmt::arg("map_w", map_width), fmt::arg("side", side_width),
      fmt::arg("gap", gap), fmt::arg("pad", pad), fmt::arg("heads", line + row_pad),
      fmt::arg("box", box_height - form_line), fmt::arg("foot", foot_height),
      fmt::arg("form_line", form_line), fmt::arg("row", box_height), fmt::arg("form_w", form_width),
      fmt::arg("heads_in", line + row_pad - 0.4));
  return text_of_style.c_str();
}

}  // namespace swardline::sheet
