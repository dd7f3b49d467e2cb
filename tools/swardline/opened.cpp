#include "opened.hpp"

#include <fmt/chrono.h>

#include <chrono>

#include "swardline/base/workers.hpp"
#include "swardline/design/strata.hpp"

namespace swardline::tool {

Opened open_season(const Common& common) {
  Opened opened;
  opened.season = read_season(common.plan, opened.flags);
  opened.flags.throw_if_stopped();
  const Plan& plan = opened.season.plan;
  opened.crs = Crs::from_text(plan.crs, plan.crs_place);
  opened.sites = read_sites(plan, opened.crs, opened.flags);
  opened.access = read_access(plan, opened.crs, opened.sites, opened.flags);
  opened.layers = Layers::open(plan, opened.crs, layers_for_draw(opened.season), opened.flags);
  opened.flags.throw_if_stopped();
  opened.model = Model::compile(opened.season, opened.layers, opened.flags);
  opened.flags.throw_if_stopped();
  return opened;
}

int threads_of(const Common& common) { return common.threads > 0 ? common.threads : default_threads(); }

std::string utc_now() {
  const std::time_t now = std::chrono::system_clock::to_time_t(std::chrono::system_clock::now());
  return fmt::format("{:%Y-%m-%dT%H:%M:%SZ}", fmt::gmtime(now));
}

RunRecord run_record(const std::string& command, const Plan& plan, const std::string& inputs,
                     const std::string& started) {
  return {command, SWARDLINE_VERSION, inputs, started, utc_now(), plan.seed};
}

}  // namespace swardline::tool
