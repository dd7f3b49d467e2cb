#include "swardline/check/vector_inputs.hpp"

#include <cpl_error.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include <algorithm>
#include <memory>

namespace swardline::check_parts {
namespace {

VectorInput read_input(const Plan& plan, const Crs& crs, const SourceSpec& spec, Flags& flags) {
  VectorInput input;
  input.spec = spec;
  input.layer =
      read_vectors({spec.file, spec.layer, spec.crs, plan.sites.private_attributes, spec.place}, crs, flags);
  return input;
}

bool left_out(const VectorInput& input, const std::string& code) {
  return !input.only.empty() && std::find(input.only.begin(), input.only.end(), code) == input.only.end();
}

VectorInput read_site_input(const Plan& plan, const Crs& crs, const SourceSpec& spec, Flags& flags) {
  VectorInput input = read_input(plan, crs, spec, flags);
  input.code = plan.sites.code;
  input.only = plan.sites.only;
  std::erase_if(input.layer.features, [&](const Feature& feature) {
    const auto code = feature.fields.find(input.code);
    return code != feature.fields.end() && left_out(input, code->second);
  });
  return input;
}

}  // namespace

std::vector<const VectorInput*> VectorInputs::all() const {
  std::vector<const VectorInput*> list;
  for (const auto* group : {&sites, &within, &near, &others})
    for (const VectorInput& input : *group) list.push_back(&input);
  return list;
}

VectorInputs read_vector_inputs(const Plan& plan, const Crs& crs, Flags& flags) {
  Flags said;  // by the passes that make sites, survey areas, access and patches of them
  VectorInputs inputs;
  for (const SourceSpec& spec : plan.sites.sources)
    inputs.sites.push_back(read_site_input(plan, crs, spec, said));
  for (const SourceSpec& spec : plan.sites.linear.sources)
    inputs.sites.push_back(read_site_input(plan, crs, spec, said));
  if (plan.known) inputs.within.push_back(read_input(plan, crs, *plan.known, said));
  const AccessSpec& access = plan.sites.access;
  if (access.start) inputs.near.push_back(read_input(plan, crs, *access.start, said));
  if (access.crossings) inputs.near.push_back(read_input(plan, crs, *access.crossings, flags));
  if (access.barriers) inputs.others.push_back(read_input(plan, crs, *access.barriers, flags));
  for (const ExclusionSpec& exclusion : plan.sites.exclusions)
    inputs.others.push_back(read_input(plan, crs, exclusion.source, said));
  return inputs;
}

std::vector<RawFeature> raw_features(const VectorInput& input) {
  std::vector<RawFeature> features;
  CPLErrorHandlerPusher const quiet(CPLQuietErrorHandler);  // read_vectors has said it
  const std::unique_ptr<GDALDataset> dataset(
      GDALDataset::Open(input.spec.file.c_str(), GDAL_OF_VECTOR | GDAL_OF_READONLY));
  if (!dataset) return features;
  OGRLayer* layer =
      input.spec.layer.empty() ? dataset->GetLayer(0) : dataset->GetLayerByName(input.spec.layer.c_str());
  if (layer == nullptr) return features;
  layer->ResetReading();
  while (const auto feature = std::unique_ptr<OGRFeature>(layer->GetNextFeature())) {
    const OGRGeometry* geometry = feature->GetGeometryRef();
    if (geometry == nullptr || geometry->IsEmpty()) continue;
    const int code = input.code.empty() ? -1 : feature->GetFieldIndex(input.code.c_str());
    if (code >= 0 && left_out(input, feature->GetFieldAsString(code))) continue;
    OGREnvelope box;
    geometry->getEnvelope(&box);
    features.push_back({{box.MinX, box.MinY, box.MaxX, box.MaxY},
                        {input.name(), 0, fmt::format("feature {}", feature->GetFID())}});
  }
  return features;
}

}  // namespace swardline::check_parts
