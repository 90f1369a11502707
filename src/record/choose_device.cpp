#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <charconv>
#include <string_view>

#include "src/errors.h"
#include "src/lower_case.h"
#include "src/record/sound_system.h"

namespace howl {

namespace {

using Devices = std::vector<SoundDevice>;

std::optional<int> whole_number(std::string_view text) {
  int number{};
  const auto [end, problem] = std::from_chars(text.data(), text.data() + text.size(), number);
  if (problem != std::errc{} || end != text.data() + text.size()) return std::nullopt;
  return number;
}

template <class Fits>
Devices those(const Devices& devices, Fits fits) {
  Devices found;
  std::ranges::copy_if(devices, std::back_inserter(found), fits);
  return found;
}

/// By number, by whole name, by part of a name: the first way that finds any.
Devices matching(const Devices& devices, const std::string& wanted) {
  if (const auto number = whole_number(wanted))
    return those(devices, [&](const SoundDevice& d) { return d.number == *number; });
  Devices same = those(devices, [&](const SoundDevice& d) { return d.name == wanted; });
  if (!same.empty()) return same;
  return those(devices, [&](const SoundDevice& d) {
    return lower_case(d.name).find(lower_case(wanted)) != std::string::npos;
  });
}

std::string listed(const Devices& devices) {
  std::vector<std::string> names;
  for (const SoundDevice& d : devices) names.push_back(fmt::format("{} '{}'", d.number, d.name));
  return fmt::format("{}", fmt::join(names, ", "));
}

SoundDevice the_usual(const Devices& devices, bool SoundDevice::*usual) {
  const auto found = std::ranges::find(devices, true, usual);
  return found != devices.end() ? *found : devices.front();
}

SoundDevice choose(const Devices& all, const std::optional<std::string>& wanted,
                   int SoundDevice::*channels, bool SoundDevice::*usual, std::string_view what) {
  const Devices fit = those(all, [&](const SoundDevice& d) { return d.*channels > 0; });
  if (fit.empty())
    throw Error(Fault::machine, "sound devices", fmt::format("there is none with {}", what),
                "plug one in, then see 'howlpoint devices'");
  if (!wanted) return the_usual(fit, usual);
  const Devices found = matching(fit, *wanted);
  if (found.size() == 1) return found.front();
  throw Error(Fault::command, fmt::format("device '{}'", *wanted),
              found.empty() ? fmt::format("there is none of that name or number with {}", what)
                            : fmt::format("several fit: {}", listed(found)),
              fmt::format("give one of {}", listed(found.empty() ? fit : found)));
}

}  // namespace

SoundDevice choose_input(const Devices& devices, const std::optional<std::string>& wanted) {
  return choose(devices, wanted, &SoundDevice::inputs, &SoundDevice::usual_input, "an input");
}

SoundDevice choose_output(const Devices& devices, const std::optional<std::string>& wanted) {
  return choose(devices, wanted, &SoundDevice::outputs, &SoundDevice::usual_output, "an output");
}

}  // namespace howl
