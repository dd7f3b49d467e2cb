// What a page does beyond being read: tables that sort, maps whose plots tell their record. Without it the
// page still holds all of that, in tables. Private to this folder.
#pragma once

namespace swardline {

/// The script. It reads the page's own text and writes text alone, loads nothing, and holds no '<' or '&', so
/// that the page stays XML.
///
/// - `table.sorts`: each heading becomes a button; it sorts by its column, then the other way round. A column
///   of class `number` goes by the first number in a cell; cells without one come last.
/// - `figure.site` with marks `[data-plot]`, each naming the row that is its record: shown beside the map for
///   the mark under the pointer, or by keyboard: one stop for Tab, arrow keys, Home and End go from plot to
///   plot, Escape puts the record away.
extern const char* const page_script;

/// Of `page_script`, in base 64, as a page's policy names it: a script that anything has changed does not
/// run.
extern const char* const page_script_sha256;

}  // namespace swardline
