// Every point, line and polygon source a plan names, as read. Private to this folder.
#pragma once

#include <string>
#include <vector>

#include "swardline/base/flag.hpp"
#include "swardline/geo/vectors.hpp"
#include "swardline/season/plan.hpp"

namespace swardline::check_parts {

struct VectorInput {
  SourceSpec spec;
  VectorLayer layer;
  /// Of a site source: the attribute that names sites, and the codes the plan keeps to (none: all).
  std::string code;
  std::vector<std::string> only;
  [[nodiscard]] std::string name() const { return spec.file.filename().string(); }
};

struct VectorInputs {
  std::vector<VectorInput> sites;   ///< those the plan keeps to
  std::vector<VectorInput> within;  ///< known patches: they lie in a site
  std::vector<VectorInput> near;    ///< access points and crossings: they lie by one
  std::vector<VectorInput> others;  ///< exclusions and barriers
  [[nodiscard]] std::vector<const VectorInput*> all() const;
};

/// Reads them. What is wrong with the sources that no other pass reads goes to `flags`.
[[nodiscard]] VectorInputs read_vector_inputs(const Plan& plan, const Crs& crs, Flags& flags);

/// A feature's box in the numbers of its file, whatever they mean: also of features that could not be
/// brought to the plan's system. Sites that the plan leaves out are left out.
struct RawFeature {
  Box box;
  Place place;
};
[[nodiscard]] std::vector<RawFeature> raw_features(const VectorInput& input);

}  // namespace swardline::check_parts
