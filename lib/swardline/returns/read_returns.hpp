// From the season folder to one record a row.
#pragma once

#include "swardline/base/flag.hpp"
#include "swardline/returns/expected.hpp"
#include "swardline/returns/returns.hpp"
#include "swardline/season/season.hpp"

namespace swardline {

/// Reads every file of `returns/received.csv` with the corrections on top. The same for any number of threads.
///
/// A cell is read or it is not: what cannot be read sets the row's `unread` bit of its column and leaves the
/// value blank. So do a plot that is none of the expected ones and a species that is no sheet's code, name or
/// common name. Plots and codes are found however they are written large.
///
/// - Dates whose day and month could be the other way round are read as the plan says, else day first with
///   `date_doubtful`; so too where the same file has a date that can only be the plan's other way round (ASK).
/// - Decimal commas are read; a file that has points as well is an ASK. "1,200" is a number only in a file that
///   has commas which can be nothing but decimal.
/// - Files of fixes alone (GPX waypoints, tables with plot, visit_date, lat and lon) make no rows. A fix goes to
///   all rows of its plot and day that have none; without a day, to the plot's only visit. Two fixes of one
///   plot and day more than a metre apart go to none. A NOTE says what was filled and what was not.
///
/// Throws InputError for a file that is missing or is not what was received, and for corrections that do not
/// replay.
[[nodiscard]] Returns read_returns(const Season& season, const Expected& expected, Flags& flags, int threads);

}  // namespace swardline
