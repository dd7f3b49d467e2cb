// bench: the compiled parts of the benchmark. Prints one JSON object; run.py puts them together.
#include <fmt/format.h>
#include <gdal.h>

#include <CLI/CLI.hpp>

#include "bench.hpp"
#include "swardline/base/error.hpp"

namespace {

using namespace swardline;
using namespace swardline::bench;

int run(int argc, char** argv) {
  CLI::App app{"The compiled parts of the benchmark; tools/bench/run.sh runs all of it."};
  app.require_subcommand(1);

  SitesJob sites;
  std::vector<double> box;
  CLI::App* make = app.add_subcommand("sites", "makes sites on a landscape");
  make->add_option("--out", sites.out, "GeoPackage to write")->required();
  make->add_option("--ground", box, "WEST,NORTH,WIDTH,HEIGHT of the landscape, metres")
      ->delimiter(',')
      ->expected(4)
      ->required();
  make->add_option("--count", sites.count, "sites")->check(CLI::Range(1, 2600));
  make->add_option("--share", sites.share, "of the ground that they cover");
  make->add_option("--seed", sites.seed, "whole number");

  std::string source;
  std::vector<std::string> rasters;
  int threads = 1;
  CLI::App* read = app.add_subcommand("read", "reads the tiles that meet sites, once");
  read->add_option("--sites", source, "polygons")->required();
  read->add_option("--rasters", rasters, "rasters")->delimiter(',')->required();
  read->add_option("--threads", threads, "threads")->check(CLI::Range(1, 256));

  CLI::App* sizes = app.add_subcommand("sizes", "says what the tiles that meet sites take in their files");
  sizes->add_option("--sites", source, "polygons")->required();
  sizes->add_option("--rasters", rasters, "rasters")->delimiter(',')->required();

  WriteJob writing;
  CLI::App* write =
      app.add_subcommand("write", "reads two rasters and writes maps of them by a look-up, once");
  write->add_option("--rasters", rasters, "two Byte rasters in blocks of 256")->delimiter(',')->required();
  write->add_option("--cells", writing.cells, "65,536 bytes for each map: its cells by the rasters' bytes")
      ->required();
  write->add_option("--averaged", writing.averaged, "so many of the first maps have averaged overviews");
  write->add_option("--out", writing.out, "folder to write to")->required();
  write->add_option("--threads", threads, "threads")->check(CLI::Range(1, 256));

  int repeats = 5, draws = 40;
  CLI::App* thin = app.add_subcommand("thinning", "times local pivotal thinning");
  thin->add_option("--repeats", repeats, "runs of each")->check(CLI::Range(1, 1000));
  thin->add_option("--draws", draws, "compared in distribution")->check(CLI::Range(2, 10000));

  LooksJob looking;
  CLI::App* looks = app.add_subcommand("looks", "times sets and orders of looks of identification cards");
  looks->add_option("--tables", looking.tables, "random tables of each kind")->check(CLI::Range(1, 100000));
  looks->add_option("--plants", looking.plants, "plants of a table")->check(CLI::Range(2, 1000));
  looks->add_option("--characters", looking.characters, "characters of a table")->check(CLI::Range(1, 63));
  looks->add_option("--seed", looking.seed, "whole number");

  try {
    app.parse(argc, argv);
  } catch (const CLI::ParseError& error) {
    return app.exit(error) == 0 ? 0 : int(Status::command_line);
  }
  GDALAllRegister();
  GDALSetCacheMax64(64 << 20);
  if (make->parsed()) {
    sites.west = box[0];
    sites.north = box[1];
    sites.width_m = box[2];
    sites.height_m = box[3];
    fmt::print("{{\"sites\": {}, \"square_metres\": {:.0f}}}\n", sites.count, make_sites(sites));
  } else if (read->parsed()) {
    const TilesRead r = read_tiles(source, {rasters.begin(), rasters.end()}, threads);
    fmt::print("{{\"tiles\": {}, \"cells\": {}, \"sum\": {}, \"seconds\": {:.4f}}}\n", r.tiles, r.cells,
               r.sum, r.seconds);
  } else if (sizes->parsed()) {
    fmt::print("{{\"bytes\": {}}}\n", packed_bytes(source, {rasters.begin(), rasters.end()}));
  } else if (write->parsed()) {
    writing.rasters = {rasters.begin(), rasters.end()};
    writing.threads = threads;
    const MapsWritten w = write_maps(writing);
    fmt::print("{{\"maps\": {}, \"overviews\": {}, \"cells\": {}, \"seconds\": {:.4f}}}\n", w.maps,
               w.overviews, w.cells, w.seconds);
  } else if (looks->parsed()) {
    std::string kinds;
    for (const LooksTimed& t : time_looks(looking))
      kinds += fmt::format(
          "{}\n  {{\"kind\": \"{}\", \"tables\": {}, \"median\": {:.4f}, \"slowest\": {:.4f}, "
          "\"slowest_set\": {:.4f}, \"slowest_order\": {:.4f}, \"sets_exact\": {}, \"orders_exact\": {}, "
          "\"trees_whole\": {}}}",
          kinds.empty() ? "" : ",", t.kind, t.tables, t.median, t.slowest, t.slowest_set, t.slowest_order,
          t.sets_exact, t.orders_exact, t.trees_whole);
    fmt::print("{{\"looks\": [{}]}}\n", kinds);
  } else {
    const Thinning t = time_thinning(repeats, draws);
    fmt::print(
        "{{\"seconds_20k\": {:.4f}, \"seconds_200k\": {:.4f}, \"plain_seconds_20k\": {:.4f}, \"draws\": {}, "
        "\"balance\": {:.5f}, \"balance_plain\": {:.5f}, \"difference_in_errors\": {:.2f}, "
        "\"kolmogorov\": {:.3f}, \"kolmogorov_limit\": {:.3f}}}\n",
        t.seconds_20k, t.seconds_200k, t.plain_seconds_20k, t.draws, t.balance, t.balance_plain,
        t.difference_in_errors, t.kolmogorov, t.kolmogorov_limit);
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run(argc, argv);
  } catch (const swardline::Error& error) {
    fmt::print(stderr, "{}\n", error.what());
    return int(error.status());
  } catch (const std::exception& error) {
    fmt::print(stderr, "bench: {}\n", error.what());
    return int(swardline::Status::defect);
  }
}
