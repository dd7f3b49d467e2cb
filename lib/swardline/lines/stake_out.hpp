// What a team does to lay a transect, in words.
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "swardline/lines/tape.hpp"
#include "swardline/lines/transect.hpp"

namespace swardline {

struct StakeOut {
  double lat = 0, lon = 0;  ///< of the start, WGS84
  double bearing_deg = 0;   ///< true
  std::optional<double> declination_deg;
  bool level = false;  ///< no heights: the tape is to be held level
};

/// One sentence a step: start, bearing, tape, where the line leaves and comes back, what counts again,
/// frames. Marks are of the tape, to a tenth of a metre. A bearing is always called true or magnetic.
[[nodiscard]] std::vector<std::string> stake_out(const LaidTransect& laid, const Tape& tape,
                                                 const TransectSpec& spec, const StakeOut& at);

/// "0.0-17.0; 21.0-25.0": tape marks of the parts inside.
[[nodiscard]] std::string parts_text(const LaidTransect& laid, const Tape& tape);

}  // namespace swardline
