// Totals of samples whose units had unequal chances.
#pragma once

#include <span>

#include <vector>

namespace swardline {

/// Σ y / π: Horvitz & Thompson 1952, Journal of the American Statistical Association 47:663-685. The chances
/// must lie in (0, 1] (InputError); for pins on ground, chance per m² × plot area takes their place.
[[nodiscard]] double horvitz_thompson_total(std::span<const double> y, std::span<const double> chances);

/// (Σ y / π) / (Σ 1 / π), the mean per unit where the number of units is estimated too (Hájek 1971).
[[nodiscard]] double hajek_mean(std::span<const double> y, std::span<const double> chances);

/// By unit and unit, the chance that both are drawn; the diagonal is not looked at.
using JointChances = std::vector<std::vector<double>>;

/// ½ ΣΣ (πᵢπⱼ − πᵢⱼ)/πᵢⱼ (yᵢ/πᵢ − yⱼ/πⱼ)², for samples of fixed size (Sen 1953; Yates & Grundy 1953).
[[nodiscard]] double sen_yates_grundy_variance(std::span<const double> y, std::span<const double> chances,
                                               const JointChances& joint);

/// Horvitz and Thompson's own, Σ (1 − πᵢ)(yᵢ/πᵢ)² + ΣΣ (πᵢⱼ − πᵢπⱼ)/πᵢⱼ yᵢyⱼ/(πᵢπⱼ): can be below 0.
[[nodiscard]] double horvitz_thompson_variance(std::span<const double> y, std::span<const double> chances,
                                               const JointChances& joint);

}  // namespace swardline
