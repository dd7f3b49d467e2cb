#include "swardline/report/season_page.hpp"

#include <fmt/format.h>

#include "swardline/base/files.hpp"
#include "swardline/report/html_table.hpp"
#include "swardline/report/page.hpp"
#include "swardline/report/season_map.hpp"
#include "swardline/report/season_sections.hpp"

namespace swardline {
namespace {

constexpr const char* season_style = R"(
tbody th{white-space:normal;overflow-wrap:anywhere;min-width:8.5rem}
.notice{border:2px solid var(--ink);padding:.3rem .8rem;font-weight:600;max-width:50rem}
.short-of-it{font-size:1.08rem;padding-left:1.4rem}
.short-of-it li{margin:.35rem 0}
.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%);white-space:nowrap;margin:0}
summary{cursor:pointer;color:var(--hue);font-weight:600;padding:.3rem 0}
summary:focus-visible,a:focus-visible,.wide:focus-visible{outline:3px solid var(--ink);outline-offset:2px}
h1,h3,caption,figcaption,summary,td,li,p{overflow-wrap:anywhere}
h3{font-size:1.05rem;margin:1.4rem 0 .3rem}
h4{font-size:.95rem;margin:1rem 0 .2rem}
figcaption p{margin:.1rem 0 .3rem}
th button{font:inherit;font-weight:600;color:inherit;text-align:inherit;background:none;border:0;padding:0;cursor:pointer}
th button:focus-visible{outline:3px solid var(--ink);outline-offset:2px}
th button::after{content:" ↕";content:" ↕" / "";font-weight:400}
th[aria-sort=ascending] button::after{content:" ↑";content:" ↑" / "";font-weight:700}
th[aria-sort=descending] button::after{content:" ↓";content:" ↓" / "";font-weight:700}
.intervals,.efforts,.map-legend{max-width:60rem}
.intervals .grid{fill:none;stroke:#c4ccd3;stroke-width:1}
.intervals .zero{fill:none;stroke:var(--ink);stroke-width:1.2;stroke-dasharray:2 3}
.intervals .limit{fill:none;stroke:var(--ink);stroke-width:1.6}
.intervals .open{stroke-dasharray:6 4}
.intervals .mark{fill:var(--hue);stroke:var(--ink);stroke-width:1.2}
.intervals .no-mark{fill:#fff;stroke:var(--ink);stroke-width:1.4}
.intervals .second-mark{fill:#fff;stroke:var(--ink);stroke-width:1.4}
.efforts rect{stroke:var(--ink);stroke-width:1}
.efforts .done{fill:var(--hue)}
.efforts .lost{fill:url(#hatch)}
.efforts .due{fill:#fff}
.rules h3{margin-top:1.6rem}
@media screen and (max-width:44rem){
header,nav,main{padding-left:1rem;padding-right:1rem}
figure{overflow-x:auto}
.intervals,.efforts,.rules .chart{min-width:44rem}.map-legend{min-width:36rem}
.notes{columns:1}
thead th{min-width:5.5rem}
}
@page{margin:12mm}
@media print{
body{font-size:9pt;line-height:1.3}
p,li,dd,.notice{max-width:none}
h2{margin:9pt 0 3pt}p{margin:2pt 0 4pt}ul,ol{margin:2pt 0 4pt;padding-left:14pt}
tbody th{min-width:5rem}
details,.sorts button::after{display:none}
h3,.site h3{font-size:10pt;margin:7pt 0 1pt}h3{break-after:avoid}
.short-of-it{font-size:10.5pt}.notes{font-size:7.5pt}figcaption{font-size:8.5pt}.notice{border-color:#000}
.wide{margin:3pt 0}caption{padding:0 0 1pt}.on-paper{font-size:8pt;font-style:italic}
figure{margin:2pt 0}.told{break-inside:avoid}
.intervals,.efforts,.map-legend{max-width:none}
.efforts{max-width:86%}
#effort tbody td:nth-child(2){min-width:9em}
.rules{columns:2;column-gap:8mm}.rule{break-inside:avoid}.rules h3{margin-top:0;padding-top:4pt}
#origin dl{columns:2;display:block}#origin dt,#origin dd{display:inline}#origin dt::after{content:": "}#origin dd::after{content:"";display:block}
}
)";

}  // namespace

const std::vector<SeasonSection>& season_sections() {
  static const std::vector<SeasonSection> all = {
      {"short", "The season in five sentences", in_short_part},
      {"ground", "Where we surveyed and why", surveyed_part},
      {"effort", "Effort against plan", effort_part_of_season},
      {"found", "What was found", found_part},
      {"change", "Change since the earlier season", change_part},
      {"flags", "What was doubtful in what came back", doubts_part},
      {"rules", "Where the rules look wrong", rules_part},
      {"not-estimated", "What could not be estimated and why", not_estimated_part},
      {"methods", "Methods and their sources", sources_part},
      {"origin", "Where it comes from", origin_part},
      {"care", "Before anyone acts on it", care_of_season_part},
  };
  return all;
}

std::string season_page(const SeasonFacts& facts) {
  const SeasonLookup season(facts);
  std::vector<PageSection> sections;
  for (const SeasonSection& section : season_sections()) {
    std::string body = section.body(season);
    if (!body.empty()) sections.push_back({section.id, section.title, std::move(body)});
  }
  PageHead head;
  head.title = facts.season.plan.name;
  head.line = "The season on one page: where, how much, what, how sure.";
  head.notice = "For the programme's own people: exact places of plots are on this page.";
  head.style = std::string(season_style) + season_map_style + on_paper_style();
  head.drawing = season_map_definitions(facts.season.plan.strata.bands.size() + 1);
  head.script = true;
  return html_page(head, sections);
}

void write_season_page(const SeasonFacts& facts, const std::filesystem::path& file) {
  write_whole(file, season_page(facts));
}

}  // namespace swardline
