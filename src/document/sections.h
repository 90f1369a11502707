#pragma once

#include <optional>
#include <string>
#include <vector>

#include "src/analysis/analyse.h"
#include "src/document/document.h"
#include "src/document/material.h"

namespace howl::document {

/// What is not known for lack of a test, a sentence each, with as many names in it; none: all.
std::vector<std::string> not_tested(const Material& material,
                                    std::optional<std::size_t> most_names);

/// The sections of a report, in their order. Those of what does not occur (blows, load tests, a
/// later case) say so in a sentence, or are left out where nobody would ask.
Section front_section(const Material& material);
Section suspects_section(const Material& material);
Section points_section(const Material& material);
/// Draws spectra and maps, and with `with_clips` isolates the howl, which both read recordings;
/// throws what `progress` throws.
Section tones_section(const Material& material, bool with_clips, const Progress& progress);
Section blows_section(const Material& material);
Section loads_section(const Material& material);
Section workshop_section(const Material& material);
Section next_section(const Material& material);
Section later_section(const Material& material, std::size_t number);
Section earlier_section(const Material& material, std::size_t number);
Section takes_section(const Material& material);
Section settings_section(const Material& material);
Section method_section();
Section limits_section();

}  // namespace howl::document
