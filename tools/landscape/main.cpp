// landscape: invented land of any size, for samples, tests and benchmarks.
#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal.h>
#include <CLI/CLI.hpp>

#include <cmath>
#include <cstdio>
#include <string>
#include <vector>

#include "land.hpp"
#include "swardline/base/error.hpp"
#include "swardline/base/text.hpp"
#include "swardline/base/workers.hpp"
#include "valley.hpp"
#include "valley_returns.hpp"
#include "writer.hpp"

namespace {

using namespace swardline;
using namespace swardline::landscape;

struct Options {
  std::string out;
  std::uint64_t seed = 1;
  std::string crs = "EPSG:26914";
  double cell_m = 10;
  std::vector<double> origin = {700000, 4200000};
  std::vector<int> size = {1024, 1024};
  std::vector<std::string> layers = layer_names();
  int threads = default_threads();
  bool sparse_mosaic = false;
  int mosaic_block = 4096;
};

// The corner in whole cells, so that any two outputs agree where they overlap.
std::int64_t whole_cells(double metres, double cell_m) {
  const double cells = std::floor(metres / cell_m + 0.5);
  if (cells * cell_m != metres) {
    throw InputError(Place{"--origin", 0, shortest(metres)},
                     fmt::format("is not a whole number of {} m cells.", shortest(cell_m)),
                     fmt::format("Use {}.", cells * cell_m));
  }
  return static_cast<std::int64_t>(cells);
}

void make_land(const Options& options) {
  if (options.out.empty())
    throw InputError(Place{"--out", 0, {}}, "is missing.", "Name a folder to write to.");
  WriteJob job;
  job.folder = options.out;
  job.crs = options.crs;
  job.layers = options.layers;
  job.threads = options.threads;
  job.repeat_block = options.sparse_mosaic ? options.mosaic_block : 0;
  job.note = fmt::format("Invented landscape, seed {}: no such place exists.", options.seed);
  job.view = {whole_cells(options.origin[0], options.cell_m), whole_cells(options.origin[1], options.cell_m),
              options.size[0], options.size[1], options.cell_m};
  write_layers(Land(options.seed), job);
}

int run(int argc, char** argv) {
  CLI::App app{
      "Makes aligned layers of invented land from a seed. The same seed and ground give the same\n"
      "values whatever the extent, tiling or threads. No such place exists."};
  Options options;
  app.add_option("--out", options.out, "folder to write to");
  app.add_option("--seed", options.seed, "whole number");
  app.add_option("--crs", options.crs, "projected coordinate system in metres");
  app.add_option("--cell-m", options.cell_m, "cell side, metres")->check(CLI::Range(0.1, 1000.0));
  app.add_option("--origin", options.origin, "north-west corner, E,N metres, whole cells")
      ->delimiter(',')
      ->expected(2);
  app.add_option("--size", options.size, "COLS,ROWS")
      ->delimiter(',')
      ->expected(2)
      ->check(CLI::Range(1, 2000000000));
  app.add_option("--layers", options.layers, in_words(layer_names()))->delimiter(',');
  app.add_option("--threads", options.threads, "threads")->check(CLI::Range(1, 256));
  app.add_flag("--sparse-mosaic", options.sparse_mosaic,
               "write one block and a VRT that repeats it: any size without the disk for it");
  app.add_option("--mosaic-block", options.mosaic_block, "cells a side of that block")
      ->check(CLI::Range(256, 32768));
  app.footer(
      "Examples:\n"
      "  landscape --out land --seed 7 --size 4000,3000 --layers cover,moisture\n"
      "  landscape --out big --size 100000,100000 --sparse-mosaic");
  std::string valley_out, valley_only = "all";
  CLI::App* valley = app.add_subcommand("valley", "makes the demo valley of samples/ambry-valley");
  valley->add_option("--out", valley_out, "the season's folder")->required();
  valley->add_option("--only", valley_only, "layers, vectors or all")
      ->check(CLI::IsMember({"all", "layers", "vectors"}));
  valley->add_option("--threads", options.threads, "threads")->check(CLI::Range(1, 256));
  std::string returns_out, store, form, returns_layers;
  int year = kValleyFirstYear;
  CLI::App* returns =
      app.add_subcommand("returns", "fills in the demo valley's count forms from known plants");
  returns->add_option("--out", returns_out, "folder for the teams' files")->required();
  returns->add_option("--layers", returns_layers, "the valley's layers")->required();
  returns->add_option("--store", store, "store of the season as drawn")->required();
  returns->add_option("--form", form, "the season's blank form")->required();
  returns->add_option("--year", year, "year of the counts; the first year's have twelve faults planted");
  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : static_cast<int>(Status::command_line);
  }
  GDALAllRegister();
  GDALSetCacheMax64(64 << 20);  // the default is a share of the machine's memory, whatever the tiles need
  CPLSetErrorHandler(CPLQuietErrorHandler);  // what went wrong is said once, by us
  if (valley->parsed()) {
    if (valley_only != "vectors") write_valley_layers(valley_out, options.threads);
    if (valley_only != "layers") {
      write_valley_vectors(valley_out);
      write_valley_pilot(valley_out);
    }
  } else if (returns->parsed()) {
    for (const std::string& line :
         write_valley_returns(returns_layers, store, form, year, year == kValleyFirstYear, returns_out))
      fmt::print("{}\n", line);
  } else {
    make_land(options);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const swardline::Error& error) {
    fmt::print(stderr, "{}\n", error.what());
    return static_cast<int>(error.status());
  } catch (const std::exception& error) {
    fmt::print(stderr, "landscape: {} This is a fault of swardline: please report it.\n", error.what());
    return static_cast<int>(swardline::Status::defect);
  }
}
