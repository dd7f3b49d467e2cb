#include <fmt/format.h>

#include <string_view>
#include <system_error>
#include <utility>

#include "swardline/base/error.hpp"
#include "swardline/base/files.hpp"
#include "swardline/season/season.hpp"

namespace swardline {
namespace {

namespace fs = std::filesystem;

constexpr std::string_view plan_text =
    R"toml(# The plan of one season. Change what does not fit; samples/plan-reference.toml explains every key.
# Then run `swardline check plan.toml`: it says everything that is wrong or doubtful at once.
#
# Before anyone walks: permission of every landowner, and the local rules for protected plants.

[season]
name = "My season 2027"
crs  = "EPSG:26914"         # coordinate system of the plots: projected, in metres. Here UTM zone 14 north, NAD83.
seed = 2027                 # the same seed draws the same plots again
# known = "patches.gpkg"    # places where the plants are known to be, or not to be

[sites]
source  = "layers/sites.gpkg"   # polygons, one or more for each site
code    = "code"                # attribute with a short code, three letters work well
name    = "name"
private = []                    # attributes that must never leave this file, like ["owner"]

# [[sites.exclude]]             # ground cut out of the sites: water, buildings, no entry
# source   = "layers/ponds.gpkg"
# buffer_m = 3
# reason   = "water"

# [sites.access]
# start = "layers/parking.gpkg" # the walking order begins here

# [grid]
# cell_m = 10                   # default: the finest layer's

[layers.cover]
source  = "layers/cover.tif"
# Every value of the raster and its class. An unnamed value is an error, never a guess.
classes = { 1 = "OW", 2 = "WM", 3 = "MP", 4 = "WD", 5 = "CR" }

[layers.moisture]
source = "layers/moisture.tif"
unit   = "percent"
# scale = 0.1                   # if the raster holds tenths

[layers.canopy]
source = "layers/canopy.tif"
unit   = "percent"

[layers.elevation]              # slope, aspect and heat load come from this when a sheet asks for them
source = "layers/elevation.tif"
unit   = "m"

[strata]
by    = ["site", "score"]
bands = [0.25, 0.5, 0.75]       # keep the low bands: without them the rules can never be shown wrong

[sample]
shape  = "belt"                 # circle, square, belt
size_m = [2, 10]                # width and length, metres on the map
each   = 6                      # plots in every stratum; or total = 240 over all strata
spares = 0.5                    # spare plots for each planned one

# [effort]                        # what `swardline effort` answers, before plots are drawn
# precision = 0.25                # limits of a quarter of the mean, at 90 percent
# change    = 0.20                # smallest change between seasons that matters, share of the mean
# pilot     = "pilot.csv"         # counts so far: columns species, plot, count, season
# hours     = 160                 # person-hours there are

[points]
name_profile = "8"              # longest name the GPS unit keeps: "6", "8", "10" or "free"
as           = ["gpx", "csv"]
)toml";

constexpr std::string_view first_sheet =
    R"toml(# One sheet for each species; samples/species-reference.toml explains every key.
# The numbers are illustrative, from memory: replace them with what your botanist agrees to.
code    = "PTUB"
name    = "Penstemon tubaeflorus"
common  = "white wand beardtongue"
version = 1
window  = ["05-20", "06-25"]        # first and last day for a visit

[[factor]]
layer     = "moisture"
role      = "limiting"
trapezoid = [20, 26, 38, 46]        # 0 at and below 20, 1 from 26 to 38, 0 at and above 46
why       = "seedlings drown above 46"

[[factor]]
layer     = "cover"
role      = "limiting"
scores    = { WM = 1.0, MP = 0.9, WD = 0.4 }
excluded  = ["OW", "CR"]            # no habitat at all
otherwise = 0.0                     # without this line a class that is not listed is an error

[[factor]]
layer     = "canopy"
role      = "modifying"
weight    = 2
trapezoid = [-inf, -inf, 25, 60]    # full marks up to 25 percent

[[mask]]
layer      = "elevation"
keep_below = 260

[combine]
rule = "graded"                     # lowest(limiting)^0.6 × weighted geometric mean(modifying)^0.4

[traits]
flower = "pure white, slender even tube"

[[look_alike]]
of   = "PDIG"
tell = "throat swells suddenly, faint purple lines"
)toml";

constexpr std::string_view second_sheet =
    R"toml(# The numbers are illustrative, from memory: replace them with what your botanist agrees to.
code    = "PDIG"
name    = "Penstemon digitalis"
common  = "foxglove beardtongue"
version = 1
window  = ["05-15", "06-30"]

[[factor]]
layer     = "moisture"
role      = "limiting"
trapezoid = [16, 22, 36, 44]

[[factor]]
layer     = "cover"
role      = "limiting"
scores    = { MP = 1.0, WD = 0.6, WM = 0.5 }
excluded  = ["OW", "CR"]
otherwise = 0.0

[[factor]]
layer     = "slope"                 # made from the layer elevation
role      = "modifying"
trapezoid = [-inf, -inf, 15, 35]

[traits]
flower = "white, throat swells suddenly"

[[look_alike]]
of   = "PTUB"
tell = "slender even tube, no lines"
)toml";

constexpr std::string_view layers_readme = R"(What to put into this folder
============================

sites.gpkg      polygons of the sites, with the attributes code and name. Any vector format will do; change
                the name in plan.toml. The file must say which coordinate system it is in: it is never guessed.
cover.tif       land cover: one whole number for each class, named in plan.toml under classes
moisture.tif    soil moisture, percent
canopy.tif      canopy, percent
elevation.tif   elevation, metres; slope, aspect and heat load are made from it

Optional, each with its lines in plan.toml:
ponds.gpkg      ground to cut out of the sites
parking.gpkg    points where the walk to the plots begins

Rasters may differ in coordinate system and cell size: they are brought to one grid, and that is said.
No data must be marked as no data in the file, not written as 0.
Leave out a layer that you do not have: take its table out of plan.toml and its factors out of the sheets.

Then, in the folder above: swardline check plan.toml
)";

}  // namespace

void start_season(const fs::path& folder) {
  // An empty path would be the folder one stands in, which nobody asked for.
  if (folder.empty())
    throw Error(Status::command_line, {}, "a season needs a folder with a name",
                "Write for example: swardline new my-season");
  std::error_code error;
  if (fs::is_directory(folder, error) && !fs::is_empty(folder, error)) {
    throw IoError({folder.string(), 0, {}}, "the folder is not empty.", "Name a new folder for the season.");
  }
  const std::pair<fs::path, std::string_view> files[] = {{folder / "layers" / "README.txt", layers_readme},
                                                         {folder / "species" / "PTUB.toml", first_sheet},
                                                         {folder / "species" / "PDIG.toml", second_sheet},
                                                         {folder / "plan.toml", plan_text}};
  // Whatever a folder says of itself, a file that is there is somebody's work.
  for (const auto& [path, text] : files)
    if (fs::symlink_status(path, error).type() != fs::file_type::not_found)
      throw IoError({path.string(), 0, {}}, "is there already.", "Name a new folder for the season.");
  make_folder(folder / "species");
  make_folder(folder / "layers");
  for (const auto& [path, text] : files) write_whole(path, text);
}

}  // namespace swardline
