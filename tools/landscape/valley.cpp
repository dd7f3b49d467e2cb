// The demo valley's land: each site's habitat, set into the noise with enough patchiness that several
// bands of suitability exist in it.
#include "valley.hpp"

#include "writer.hpp"

namespace swardline::landscape {
namespace {

constexpr double kRest = 9;  // beyond all patch noise

Stretch stretch_of(const char* code, double patch_m, Mix cover, Mix bedrock, double moisture, double swing) {
  Stretch stretch;
  stretch.rings = valley_site(code).rings;
  stretch.patch_m = patch_m;
  stretch.cover = std::move(cover);
  stretch.bedrock = std::move(bedrock);
  stretch.moisture = moisture;
  stretch.moisture_swing = swing;
  return stretch;
}

Stretch on_ground(Stretch stretch, double lift, double relief, Spot tilt) {
  stretch.lift_m = lift;
  stretch.relief_m = relief;
  stretch.tilt = tilt;
  return stretch;
}

Stretch with_step(Stretch stretch, double at, double step, Spot lean = {0, 0}) {
  stretch.step_at = at;
  stretch.step = step;
  stretch.lean = lean;
  return stretch;
}

Stretch with_margin(Stretch stretch, double metres) {
  stretch.margin_m = metres;
  return stretch;
}

std::vector<Stretch> habitats() {
  return {
      stretch_of("HDR", 260, {{-0.6, kWetMeadow}, {0.65, kBottomlandWoods}, {kRest, kClosedForest}},
                 {{kRest, kAlluvium}}, 43, 11),
      stretch_of("GRV", 160, {{-0.4, kWetMeadow}, {kRest, kBottomlandWoods}}, {{kRest, kAlluvium}}, 46, 9),
      stretch_of("ANL", 170, {{-0.5, kMoistPrairie}, {0.55, kWetMeadow}, {kRest, kBottomlandWoods}},
                 {{0.1, kAlluvium}, {kRest, kLoess}}, 34, 9),
      // The western part is deeper, wetter soil: high scores there, low ones on the rest.
      with_step(stretch_of("QPR", 220, {{-0.31, kMoistPrairie}, {0.95, kOldField}, {kRest, kDryPrairie}},
                           {{kRest, kLoess}}, 29, 3),
                -0.31, -13, {0.75, 0.1}),
      stretch_of("SKP", 150, {{-0.55, kOldField}, {0.55, kDryPrairie}, {kRest, kOpenWoods}},
                 {{0.7, kDeepSand}, {kRest, kLoess}}, 10, 6),
      // Seeps where the patch noise is high.
      with_step(with_margin(on_ground(stretch_of("CND", 70, {{-0.45, kOpenWoods}, {kRest, kGlade}},
                                                 {{0.8, kDolomite}, {kRest, kChert}}, 13, 5),
                                      0, 2, {0.05, 0.1}),
                            150),
                0.5, 11),
      with_margin(stretch_of("FLG", 40, {{-0.5, kOpenWoods}, {kRest, kGlade}}, {{kRest, kSandstone}}, 13, 4),
                  40),
      stretch_of("NBK", 240, {{-0.6, kOldField}, {0.45, kOpenWoods}, {kRest, kClosedForest}},
                 {{0.1, kChert}, {kRest, kLoess}}, 21, 8),
      with_margin(
          on_ground(stretch_of("MRB", 60, {{-0.35, kOpenWoods}, {0.5, kGlade}, {kRest, kClosedForest}},
                               {{kRest, kDolomite}}, 17, 8),
                    18, 16, {0.6, 0.02}),
          200),
      with_margin(stretch_of("PEL", 320, {{kRest, kRoadVerge}}, {{kRest, kLoess}}, 29, 9), 15),
      stretch_of("TNY", 170, {{-0.5, kMoistPrairie}, {0.7, kOldField}, {kRest, kOpenWoods}},
                 {{kRest, kLoess}}, 24, 8),
      stretch_of("DSK", 230, {{-0.75, kOpenWoods}, {kRest, kClosedForest}}, {{0, kChert}, {kRest, kDolomite}},
                 20, 8)};
}

}  // namespace

Land valley_land() {
  Extras extras;
  extras.stretches = habitats();
  extras.roads = {pell_road()};
  // The slough between Gravel Slough's two parts.
  add_line({{757530, 4211790}, {757590, 4211640}, {757560, 4211430}, {757590, 4211250}, {757560, 4211120}},
           13, extras.still_water);
  // Nobody measured moisture here: across the edge of Ninebark Woods.
  extras.moisture_gaps = {{760880, 4206790, 760930, 4206840, 75, 75}};
  return Land(kValleySeed, std::move(extras));
}

void write_valley_layers(const std::filesystem::path& folder, int threads) {
  WriteJob job;
  job.folder = folder / "layers";
  job.crs = kValleyCrs;
  job.view = valley_view();
  job.layers = layer_names();
  job.threads = threads;
  job.deflate_level = 9;
  job.note = "Ambry Valley demo: invented, no such place exists.";
  write_layers(valley_land(), job);
}

}  // namespace swardline::landscape
