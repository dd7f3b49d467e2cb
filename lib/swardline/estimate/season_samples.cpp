// From one species' counts to what a stratum and a place come to.
#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "swardline/base/text.hpp"
#include "swardline/estimate/season_parts.hpp"

namespace swardline::estimate_parts {
namespace {

void weigh(StratumSample& sample, const SeasonParts& parts, const StratumUnits& stratum) {
  double area = 0;
  std::vector<double> inverse(sample.n(), 1);
  for (std::size_t i = 0; i < sample.n(); ++i) {
    const double chance = parts.season->units[sample.units[i]].chance_per_m2;
    if (parts.season->weighted && chance > 0) inverse[i] = 1 / chance;
    area += inverse[i] * sample.a[i];
  }
  for (const double one : inverse) sample.w.push_back(area > 0 ? stratum.expands * one / area : 0);
}

/// By unit, w (y − ratio · a).
std::vector<double> residuals(const StratumSample& sample, double ratio) {
  std::vector<double> u;
  for (std::size_t i = 0; i < sample.n(); ++i)
    u.push_back(sample.w[i] * residual(sample.y[i], ratio, sample.a[i]));
  return u;
}

double expanded_area(const StratumSample& sample) {
  double area = 0;
  for (std::size_t i = 0; i < sample.n(); ++i) area += sample.w[i] * sample.a[i];
  return area;
}

/// With fewer plots a neighbourhood is half the stratum, and its variance no better known than the
/// stratum's (simulated with 5, 15 and 50 a stratum).
constexpr std::size_t plots_for_neighbourhoods = 10;

/// Strata whose variance is worked out together, by index into a place's parts.
using Groups = std::vector<std::vector<std::size_t>>;

class Grouping {
 public:
  Grouping(const SeasonParts& parts, const PlaceOf& place, const std::vector<StratumSample>& samples,
           Combined& into)
      : parts_(parts), place_(place), samples_(samples), into_(into) {}

  Groups made() {
    for (std::size_t p = 0; p < place_.parts.size(); ++p)
      if (plots(p) >= 2) groups_.push_back({p});
    for (std::size_t p = 0; p < place_.parts.size(); ++p)
      if (plots(p) == 1) place_single(p);
    return groups_;
  }

 private:
  [[nodiscard]] const StratumUnits& stratum(std::size_t p) const {
    return parts_.strata[place_.parts[p].stratum];
  }
  [[nodiscard]] std::size_t plots(std::size_t p) const { return samples_[place_.parts[p].stratum].n(); }

  void place_single(std::size_t p) {
    // The nearest in the list of strata: of the same site first, of the same kind next.
    std::vector<std::size_t>* best = nullptr;
    std::array<std::size_t, 3> best_rank{};
    for (std::vector<std::size_t>& group : groups_) {
      const std::size_t q = group.front();
      const std::array<std::size_t, 3> rank = {stratum(q).of->site != stratum(p).of->site,
                                               stratum(q).of->kind != stratum(p).of->kind,
                                               p > q ? p - q : q - p};
      if (best != nullptr && rank >= best_rank) continue;
      best = &group;
      best_rank = rank;
    }
    if (best != nullptr) {
      add_name(into_.merged, fmt::format("{} with {}", stratum(p).of->id, stratum(best->front()).of->id));
      best->push_back(p);
    } else if (waiting_ != none) {
      add_name(into_.merged, fmt::format("{} with {}", stratum(p).of->id, stratum(waiting_).of->id));
      groups_.push_back({waiting_, p});
    } else if (others_single(p)) {
      waiting_ = p;
    } else {
      add_name(into_.without, stratum(p).of->id);
    }
  }

  [[nodiscard]] bool others_single(std::size_t p) const {
    for (std::size_t q = p + 1; q < place_.parts.size(); ++q)
      if (plots(q) == 1) return true;
    return false;
  }

  static void add_name(std::string& list, const std::string& name) {
    list += (list.empty() ? "" : "; ") + name;
  }

  static constexpr std::size_t none = std::size_t(-1);
  const SeasonParts& parts_;
  const PlaceOf& place_;
  const std::vector<StratumSample>& samples_;
  Combined& into_;
  Groups groups_;
  std::size_t waiting_ = none;
};

/// Variances of a place, stratified and by neighbourhood.
struct Sums {
  Satterthwaite total, density, accessible;
  double near = 0, accessible_near = 0;
};

class Combining {
 public:
  Combining(const SeasonParts& parts, const PlaceOf& place, const std::vector<StratumSample>& samples,
            Neighbourhoods& neighbourhoods)
      : parts_(parts), place_(place), samples_(samples), neighbourhoods_(neighbourhoods) {
    domain_ = place.domain();
    if (domain_) asked_.resize(parts.season->sites.size() + 1);
    cut_.resize(parts.strata.size());
    // A stratum that lends units of several sites to an attribute is one part.
    for (const Part& part : place.parts) {
      if (part.site >= 0) asked_[std::size_t(part.site) + 1] = 1;
      if (cut_[part.stratum] == 0) once_.parts.push_back(part);
      cut_[part.stratum] = part.site >= 0 ? 1 : 0;
    }
    once_.where = place.where;
    once_.stratum = place.stratum;
  }

  Combined made() {
    for (const Part& part : once_.parts) add_part(part);
    if (!(c_.ground > 0) || c_.plots == 0) return c_;
    c_.density.value = c_.total.value / c_.ground;
    c_.largest = c_.total.value > 0 ? largest_ / c_.total.value : 0;
    c_.all_area = area_;
    for (std::size_t i = 0; i < c_.counts.size(); ++i) {
      // One plot's stems as if all plots stood for the same ground.
      c_.counts[i] = c_.expanded[i] * found_ / c_.total.value;
      c_.areas[i] *= area_ / expanded_area_;
    }
    add_variances();
    if (domain_ && place_.known_ground > 0) {
      const double known = place_.known_ground, times = known / c_.ground;
      c_.accessible.value *= times;
      c_.accessible.variance *= times * times;
      // What was searched stands for the ground that is known.
      for (SearchedGround& searched : c_.searched) searched.ground *= times;
      for (double& expanded : c_.expanded) expanded *= times;
      c_.heaviest *= times;
      c_.total = {c_.density.value * known, c_.density.variance * known * known, c_.density.df};
      c_.ground = known;
    }
    return c_;
  }

 private:
  [[nodiscard]] bool inside(std::uint32_t stratum, std::uint32_t unit) const {
    return cut_[stratum] == 0 || asked_[std::size_t(parts_.site_of[unit]) + 1] != 0;
  }

  void add_part(const Part& part) {
    const StratumUnits& stratum = parts_.strata[part.stratum];
    const StratumSample& sample = samples_[part.stratum];
    if (sample.n() == 0) return;
    SearchedGround searched;
    double total = 0, expanded = 0;
    int occupied = 0;
    for (std::size_t i = 0; i < sample.n(); ++i) {
      if (!inside(part.stratum, sample.units[i])) continue;
      const double stems = sample.w[i] * sample.y[i];
      total += stems;
      expanded += sample.w[i] * sample.a[i];
      searched.plots += 1;
      searched.area += sample.a[i];
      largest_ = std::max(largest_, stems);
      if (!(sample.y[i] > 0)) continue;
      ++occupied;
      found_ += sample.y[i];
      c_.heaviest = std::max(c_.heaviest, sample.y[i]);  // stems, until all are known
      if (c_.counts.size() >= 10) continue;
      c_.counts.push_back(sample.y[i]);
      c_.areas.push_back(sample.w[i] * sample.a[i]);
      c_.expanded.push_back(stems);
    }
    if (searched.plots == 0) return;
    // Of a part of a stratum the ground is what its plots stand for; a grown frame reaches beyond the ground.
    searched.ground = expanded * stratum.ground / stratum.expands;
    c_.plots += int(searched.plots);
    c_.occupied += occupied;
    c_.ground += searched.ground;
    c_.total.value += total;
    area_ += searched.area;
    expanded_area_ += expanded;
    heaviest_weight_ = std::max(heaviest_weight_, expanded / searched.area);
    c_.searched.push_back({expanded, searched.plots, searched.area});
    c_.all_accessible = c_.all_accessible && sample.n() == stratum.used.size();
    c_.accessible.value += counted_share(part.stratum) * total;
    add_share(part, searched);
  }

  [[nodiscard]] double counted_share(std::uint32_t stratum) const {
    return double(samples_[stratum].n()) / double(parts_.strata[stratum].used.size());
  }

  /// Share of plots with stems, by 1 / chance as everything else.
  void add_share(const Part& part, const SearchedGround& searched) {
    const StratumSample& sample = samples_[part.stratum];
    double all = 0, with = 0, squares = 0;
    const auto each = [&](auto&& visit) {
      for (std::size_t i = 0; i < sample.n(); ++i)
        if (inside(part.stratum, sample.units[i])) visit(sample.w[i], sample.y[i] > 0 ? 1.0 : 0.0);
    };
    each([&](double w, double occupied) {
      all += w;
      with += w * occupied;
    });
    share_value_ += searched.ground * with / all;
    if (searched.plots < 2) return;
    each([&](double w, double occupied) {
      const double off = w / all * (occupied - with / all);
      squares += off * off;
    });
    share_variance_ += searched.ground * searched.ground * squares * searched.plots / (searched.plots - 1);
  }

  void add_variances() {
    Grouping grouping(parts_, once_, samples_, c_);
    Sums sums;
    double& near = sums.near;
    bool enough = !domain_ && parts_.season->unit == SampleUnit::plot;
    for (const std::vector<std::size_t>& group : grouping.made()) {
      enough = enough && group.size() == 1 && plots_of(group.front()) >= plots_for_neighbourhoods;
      if (group.size() == 1 && !domain_) {
        add_stratum(once_.parts[group.front()].stratum, sums);
        continue;
      }
      add_group(group, sums);
    }
    const Satterthwaite &total = sums.total, &density = sums.density;
    c_.heaviest *= heaviest_weight_;
    c_.by_neighbourhood = enough && near > 0;
    const double stratified = domain_ ? density.variance() : total.variance();
    const double ground2 = c_.ground * c_.ground;
    c_.total.variance = c_.by_neighbourhood ? near : total.variance();
    c_.total.df = total.df();
    c_.density.df = domain_ ? density.df() : total.df();
    c_.density.variance = (c_.by_neighbourhood ? near : stratified) / ground2;
    c_.other_variance = (c_.by_neighbourhood ? stratified : near) / ground2;
    c_.accessible.variance = c_.by_neighbourhood ? sums.accessible_near : sums.accessible.variance();
    c_.accessible.df = sums.accessible.df();
    c_.share = {share_value_ / c_.ground, share_variance_ / ground2, 0};
  }

  [[nodiscard]] std::size_t plots_of(std::size_t part) const {
    return samples_[once_.parts[part].stratum].n();
  }

  void add_stratum(std::uint32_t stratum, Sums& sums) const {
    const StratumSample& sample = samples_[stratum];
    const double df = double(sample.n()) - 1, share = counted_share(stratum);
    sums.total.add(sample.variance, df);
    sums.near += sample.neighbourhood;
    sums.accessible.add(share * share * sample.variance, df);
    sums.accessible_near += share * share * sample.neighbourhood;
  }

  /// Of a domain whose ground is known the total is a ratio times that ground, else a sum over its plots.
  void add_group(const std::vector<std::size_t>& group, Sums& sums) {
    double y = 0, a = 0;
    for (const std::size_t p : group) {
      const StratumSample& sample = samples_[once_.parts[p].stratum];
      for (std::size_t i = 0; i < sample.n(); ++i) y += sample.w[i] * sample.y[i];
      a += expanded_area(sample);
    }
    const double ratio = domain_ ? c_.total.value / expanded_area_ : y / a;
    const double of_known = place_.known_ground > 0 ? c_.accessible.value / expanded_area_ : 0;
    std::vector<double> of_total, of_density, accessible;
    std::vector<std::uint32_t> units;
    for (const std::size_t p : group) {
      const std::uint32_t h = once_.parts[p].stratum;
      const StratumSample& sample = samples_[h];
      const double share = counted_share(h);
      for (std::size_t i = 0; i < sample.n(); ++i) {
        const bool in = inside(h, sample.units[i]);
        units.push_back(sample.units[i]);
        of_density.push_back(in ? sample.w[i] * residual(sample.y[i], ratio, sample.a[i]) : 0);
        of_total.push_back(in ? sample.w[i] * sample.y[i] : 0);
        if (domain_)
          accessible.push_back(in ? sample.w[i] * residual(share * sample.y[i], of_known, sample.a[i]) : 0);
        else
          accessible.push_back(share * of_density.back());
      }
    }
    const double df = double(of_total.size()) - 1;
    sums.density.add(variance_of_sum(of_density), df);
    sums.total.add(variance_of_sum(domain_ ? of_total : of_density), df);
    sums.accessible.add(variance_of_sum(accessible), df);
    // Domains of the same strata come one after another, with the same units.
    const auto* weights = neighbourhoods_.of(once_.parts[group.front()].stratum, units);
    if (weights != nullptr) sums.near += neighbourhood_variance(*weights, of_density);
  }

  const SeasonParts& parts_;
  const PlaceOf& place_;
  const std::vector<StratumSample>& samples_;
  Neighbourhoods& neighbourhoods_;
  PlaceOf once_;
  bool domain_ = false;
  /// By stratum, whether only some sites' units are asked for, and by site (after those of none), whether its
  /// are: the same in all strata that are cut.
  std::vector<char> cut_, asked_;
  Combined c_;
  double found_ = 0, area_ = 0, expanded_area_ = 0, largest_ = 0, heaviest_weight_ = 0;
  double share_value_ = 0, share_variance_ = 0;
};

}  // namespace

const NeighbourWeights* Neighbourhoods::of(std::size_t stratum, const std::vector<std::uint32_t>& units) {
  if (units.size() < 2) return nullptr;
  Kept& kept = kept_[stratum];
  if (kept.units != units) {
    std::vector<Point> points;
    for (const std::uint32_t unit : units)
      points.push_back({parts_.season->units[unit].east, parts_.season->units[unit].north});
    kept.weights = neighbourhood_weights(points);
    kept.units = units;
  }
  return &kept.weights;
}

std::vector<StratumSample> samples_of(const SeasonParts& parts, std::size_t species, Names names,
                                      Neighbourhoods& neighbourhoods) {
  std::vector<StratumSample> samples(parts.strata.size());
  for (std::size_t h = 0; h < samples.size(); ++h) {
    StratumSample& sample = samples[h];
    if (parts.strata[h].left_out()) continue;
    for (const std::uint32_t unit : parts.strata[h].evaluated) {
      const std::vector<UnitCount>& counts = parts.season->units[unit].counts;
      if (species >= counts.size() || !counts[species].searched || !(counts[species].area_m2 > 0)) continue;
      const UnitCount& count = counts[species];
      sample.units.push_back(unit);
      sample.y.push_back(count.sure + (names == Names::sure ? 0 : count.not_certain));
      sample.a.push_back(count.area_m2);
      sample.occupied += sample.y.back() > 0 ? 1 : 0;
    }
    if (sample.n() == 0) continue;
    weigh(sample, parts, parts.strata[h]);
    for (std::size_t i = 0; i < sample.n(); ++i) sample.total += sample.w[i] * sample.y[i];
    if (sample.occupied == 0 || sample.n() < 2) continue;
    const std::vector<double> u = residuals(sample, sample.total / expanded_area(sample));
    sample.variance = variance_of_sum(u);
    sample.neighbourhood = neighbourhood_variance(*neighbourhoods.of(h, sample.units), u);
  }
  return samples;
}

Combined combine(const SeasonParts& parts, const PlaceOf& place, const std::vector<StratumSample>& samples,
                 Neighbourhoods& neighbourhoods) {
  return Combining(parts, place, samples, neighbourhoods).made();
}

}  // namespace swardline::estimate_parts
