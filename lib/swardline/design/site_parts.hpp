// The steps of making sites, shared by this stage's sources only.
#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "swardline/design/site.hpp"
#include "swardline/geo/vectors.hpp"

namespace swardline::site_parts {

/// False, with a STOP, where the plan's system is not in metres on a plane. The remedy names the UTM zone
/// of the sites where they can be read.
[[nodiscard]] bool plan_system_is_usable(const Plan& plan, const Crs& crs, Flags& flags);

/// A feature's attribute without blanks round it; empty where there is none.
[[nodiscard]] std::string field(const Feature& feature, const std::string& key);

/// False, with a STOP, where no feature of the layer has the attribute that holds the sites' codes.
[[nodiscard]] bool has_code_attribute(const SitesSpec& spec, const SourceSpec& source,
                                      const VectorLayer& layer, Flags& flags);

/// The feature's code; empty, with a STOP, where it has none. A NOTE where blanks were taken off.
[[nodiscard]] std::string code_of(const SitesSpec& spec, const Feature& feature, Flags& flags);

/// The attributes that may enter a site: not its code, its name or a private one.
[[nodiscard]] std::map<std::string, std::string> open_attributes(const SitesSpec& spec,
                                                                 const Feature& feature);

/// Reads the plan's linear sites and adds them to `sites`.
void add_linear_sites(const Plan& plan, const Crs& crs, Sites& sites, Flags& flags);

/// Leaves the segments of linear sites their part of the survey area. To be called once exclusions are cut
/// out; says what is left and the usual cautions.
void keep_segments(const Plan& plan, Sites& sites, Flags& flags);

/// A feature's polygons made valid, in whole millimetres; what was mended becomes a NOTE. `what` is how
/// the message calls it ("site GRV").
[[nodiscard]] Geometry mended_polygons(const Feature& feature, const std::string& what, Flags& flags);

/// Codes and names that people or spreadsheets would mix up.
void check_register(const std::vector<Site>& sites, Flags& flags);

/// Areas and lengths of the plan's system against the ground's: ASK from 0.1 %, STOP from 1 %, where a plot
/// taped on the ground is not the plot that was drawn.
void check_stretch(const Plan& plan, const Crs& crs, const std::vector<Site>& sites, int threads,
                   Flags& flags);

/// Ground that two sites claim: STOP where it would be surveyed twice, NOTE where it is
/// excluded or under 1 m².
void check_overlaps(const std::vector<Site>& sites, Flags& flags);

/// Reads the plan's exclusions and leaves every site with its excluded pieces and its survey area.
void cut_out_exclusions(const Plan& plan, const Crs& crs, int threads, Sites& sites, Flags& flags);

/// Hectares as site lines print them: one decimal below 100, two below 0.2, m² below 0.01 ha.
[[nodiscard]] std::string hectares_plain(double square_metres);

}  // namespace swardline::site_parts
