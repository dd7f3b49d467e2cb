// The look of pocket cards and of the sheets they are cut from.
#include "swardline/report/card_layout.hpp"
#include "swardline/report/identification_card.hpp"

namespace swardline {
namespace {

// Nothing depends on a fill, and nothing on a colour: cards are photocopied. Lengths of the body are in the
// size of its type, which each card has of its own.
constexpr const char* card_rules = R"(
.idcard{box-sizing:border-box;width:100mm;height:67mm;padding:2mm 2.5mm 1.6mm;position:relative;overflow:hidden;background:#fff;color:#000;font:7.5pt/1.1 "Liberation Sans",Arial,Helvetica,sans-serif;break-inside:avoid}
.idcard *{box-sizing:border-box;margin:0;padding:0;overflow-wrap:anywhere}
.idcard header{display:flex;flex-wrap:wrap;align-items:baseline;column-gap:1.6mm;border-bottom:.35mm solid #000;white-space:nowrap;max-width:none;padding:0;font-size:8pt;line-height:3.8mm}
.idcard h2{all:unset;font-weight:700;font-size:10.5pt;line-height:4.4mm;flex:1 0 auto}
.idcard h2.long{flex-basis:100%}
.idcard h2 span{display:block}
.idcard header .when{font-weight:700}
.idcard header .part{border:.3mm solid #000;padding:0 .8mm;line-height:3.1mm}
.idcard h2.long+.when{flex:1}
.idcard .body{display:grid;grid-template-columns:46mm 46mm;column-gap:3mm;padding-top:.7mm}
.idcard .ask{font-weight:700;padding:.34em 0 .11em 1.9em;position:relative}
.idcard .ask .no{position:absolute;left:0;top:.19em}
.idcard .ask i{font-weight:400}
.idcard .no{display:inline-block;width:1.56em;height:1.56em;border:.3mm solid #000;border-radius:50%;text-align:center;font-weight:700;font-size:.94em;line-height:1.3em;letter-spacing:-.07em;flex:none;overflow-wrap:normal}
.idcard .way{display:flex;flex-wrap:wrap;align-items:baseline;justify-content:flex-end;gap:.12em .38em;margin-left:.72em;padding-left:1.17em;padding-bottom:.13em;border-left:.3mm solid #000;position:relative}
.idcard .way::before{content:"";position:absolute;left:0;top:.57em;width:.9em;border-top:.3mm solid #000}
.idcard .way.last{border-left-color:transparent}
.idcard .way.last::after{content:"";position:absolute;left:-.3mm;top:0;height:.62em;border-left:.3mm solid #000}
.idcard .say{flex:1 1 auto}
.idcard .to{flex:0 1 auto;display:flex;flex-wrap:wrap;justify-content:flex-end;align-items:baseline;gap:.15em .3em;max-width:100%}
.idcard .is{border:.3mm solid #000;padding:0 .26em;font-weight:700;line-height:1.1}
.idcard .key .is{flex:none;max-width:23mm}
.idcard .is.other{border-style:dashed;font-weight:400}
.idcard .is.unsure{border-style:dotted}
.idcard .note{padding-top:.3em}
.idcard .warn{border:.5mm solid #000;padding:.15em .3em;font-weight:700;margin-bottom:.23em}
.idcard .key{display:flex;gap:.38em;align-items:baseline;padding-top:.19em}
.idcard footer{position:absolute;left:2.5mm;right:2.5mm;bottom:1.4mm;border-top:.35mm solid #000;padding-top:.5mm;font-size:7.5pt;line-height:2.9mm}
.idcard footer span{display:block;white-space:nowrap}
)";

constexpr const char* sheet_rules = R"(
@page{margin:5mm}
html{background:#fff}
body{margin:0}
h1{position:absolute;width:1px;height:1px;margin:0;overflow:hidden;clip-path:inset(50%)}
.sheet{position:relative;display:grid;grid-template-columns:100mm 100mm;grid-auto-rows:67mm;width:200mm;height:268mm;margin:0 auto}
.sheet+.sheet{break-before:page}
.cut{position:absolute;left:0;top:0;width:200mm;height:268mm;overflow:visible;pointer-events:none}
@media screen{.sheet{margin:8mm auto}}
)";

}  // namespace

std::string card_style() { return card_rules; }

std::string cards_page_style() { return sheet_rules; }

}  // namespace swardline
