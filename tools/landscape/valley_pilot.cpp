// The demo season's pilot: counts on the same plots in two earlier seasons.
#include <fmt/format.h>

#include "swardline/base/files.hpp"
#include "swardline/base/random.hpp"
#include "valley.hpp"

namespace swardline::landscape {
namespace {

constexpr unsigned kPlots = 24;

struct PilotSpecies {
  const char* code;
  unsigned occupied_percent;  ///< of plots
  unsigned typical;           ///< plants in an occupied plot
};

// What grows in a plot and what is counted there: a level that lasts, now and then a crowd, and each season's
// own luck round it.
unsigned level_of(RandomStream& plot, const PilotSpecies& species) {
  if (plot.below(100) >= species.occupied_percent) return 0;
  const std::uint64_t level = 1 + plot.below(species.typical) + plot.below(species.typical);
  return unsigned(plot.below(6) == 0 ? 3 * level : level);
}

unsigned counted(RandomStream& season, unsigned level) {
  unsigned count = 0;
  for (unsigned i = 0; i < 2 * level; ++i) count += unsigned(season.below(2));
  return count;
}

}  // namespace

void write_valley_pilot(const std::filesystem::path& folder) {
  const PilotSpecies all[] = {{"PALU", 62, 4}, {"PDIG", 70, 6}, {"PGRA", 14, 3}, {"PTUB", 55, 4}};
  std::string table = "species,plot,season,count,remark\n";
  for (const PilotSpecies& species : all) {
    const RandomKey key = RandomKey(kValleySeed, "pilot").under(species.code);
    for (const unsigned season : {2025U, 2026U})
      for (unsigned plot = 1; plot <= kPlots; ++plot) {
        RandomStream lasting(key.under(plot));
        RandomStream passing(key.under(plot).under(season));
        table += fmt::format("{},P{:02},{},{},invented\n", species.code, plot, season,
                             counted(passing, level_of(lasting, species)));
      }
  }
  write_whole(folder / "pilot.csv", table);
}

}  // namespace swardline::landscape
