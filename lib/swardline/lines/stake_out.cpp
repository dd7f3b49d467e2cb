#include "swardline/lines/stake_out.hpp"

#include <fmt/format.h>

#include "swardline/base/text.hpp"
#include "swardline/geo/grid_reference.hpp"
#include "swardline/geo/magnetic.hpp"

namespace swardline {
namespace {

std::string tenths(double metres) { return fmt::format("{:.1f}", metres < 0.05 ? 0.0 : metres); }

std::string bearing_words(const StakeOut& at) {
  std::string text = fmt::format("Bearing true {}", bearing_text(at.bearing_deg));
  if (at.declination_deg)
    text += fmt::format(", magnetic {} (declination {})",
                        bearing_text(magnetic_bearing(at.bearing_deg, *at.declination_deg)),
                        declination_text(*at.declination_deg));
  return text + ".";
}

std::string times_word(int times) { return times == 2 ? "twice" : fmt::format("{} times", times); }

/// Where the line is outside between its parts.
void say_gaps(const LaidTransect& laid, const Tape& tape, std::vector<std::string>& words) {
  for (std::size_t i = 0; i + 1 < laid.parts.size(); ++i)
    words.push_back(
        fmt::format("The line leaves the survey area at {} m and comes back at {} m: do not count "
                    "between, and go round where it is not safe or not allowed.",
                    tenths(tape.mark(laid.parts[i].to)), tenths(tape.mark(laid.parts[i + 1].from))));
}

void say_end(const LaidTransect& laid, const Tape& tape, const TransectSpec& spec,
             std::vector<std::string>& words) {
  const double counted = laid.length_m, full = spec.length_m;
  if (laid.folded()) {
    std::vector<std::string> again;
    for (const Counted& c : laid.counted)
      if (c.times > 1)
        again.push_back(fmt::format("from {} m to {} m {}", tenths(tape.mark(c.mark.from)),
                                    tenths(tape.mark(c.mark.to)), times_word(c.times)));
    if (again.size() > 4) {
      again.resize(4);
      again.emplace_back("so on, as listed");
    }
    words.push_back(
        fmt::format("The line ends at the boundary and is folded back: count {}.", in_words(again)));
  } else if (counted < full - 0.005) {
    words.push_back(fmt::format("{} m of the line's {} m lie in the survey area: that is what is counted.",
                                tenths(counted), shortest(full)));
  }
}

std::string counted_words(const LaidTransect& laid, const TransectSpec& spec) {
  std::string text =
      spec.frames ? fmt::format("{} frames of {} × {} m", laid.stations.size(),
                                shortest(spec.frames->size_m[0]), shortest(spec.frames->size_m[1]))
                  : fmt::format("A belt {} m wide, half on each side of the tape", shortest(spec.width_m));
  text += fmt::format(": {:.1f} m² inside", laid.inside_m2);
  if (laid.twice_m2 > 0.05) text += fmt::format(", {:.1f} m² counted again", laid.twice_m2);
  return text + ".";
}

std::string frame_words(const LaidTransect& laid, const Tape& tape, const TransectSpec& spec) {
  std::vector<std::string> marks;
  const double frame_m2 = spec.frames->size_m[0] * spec.frames->size_m[1];
  for (const Station& s : laid.stations) {
    std::string mark = tenths(tape.mark(s.mark.from));
    if (s.folded) mark += " (on the way back)";
    if (s.twice_m2 > 0.0005)
      mark += fmt::format(" ({:.2f} m² of it again)", s.twice_m2);
    else if (s.inside_m2 < frame_m2 - 0.0005)
      mark += fmt::format(" ({:.2f} m² inside)", s.inside_m2);
    marks.push_back(mark);
  }
  if (marks.empty()) return "No frame lies in the survey area.";
  return fmt::format("Frames begin at {} m.", in_words(marks));
}

}  // namespace

std::vector<std::string> stake_out(const LaidTransect& laid, const Tape& tape, const TransectSpec& spec,
                                   const StakeOut& at) {
  std::vector<std::string> words;
  words.push_back(fmt::format("Start at {:.5f} {:.5f} (WGS84; {}).", at.lat, at.lon, usng(at.lat, at.lon)));
  words.push_back(bearing_words(at));
  const double level = laid.parts.empty() ? 0 : laid.parts.back().to;
  words.push_back(at.level
                      ? fmt::format("Lay {} m of tape, held level: no heights are known here.", tenths(level))
                      : fmt::format("Lay {} m of tape along the ground ({} m level).", tenths(tape.length()),
                                    tenths(level)));
  if (laid.edge_only)
    words.emplace_back(
        "The line itself runs just outside; only the edge of the belt is in the survey area. Stay "
        "inside and count what of the belt lies there.");
  say_gaps(laid, tape, words);
  say_end(laid, tape, spec, words);
  words.push_back(counted_words(laid, spec));
  if (spec.frames) words.push_back(frame_words(laid, tape, spec));
  return words;
}

std::string parts_text(const LaidTransect& laid, const Tape& tape) {
  std::string text;
  for (const Stretch& part : laid.parts)
    text += fmt::format("{}{}-{}", text.empty() ? "" : "; ", tenths(tape.mark(part.from)),
                        tenths(tape.mark(part.to)));
  return text;
}

}  // namespace swardline
