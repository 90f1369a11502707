#include "src/case/take_rules.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "src/errors.h"

namespace howl {

namespace {

bool is_plain(char c) {
  return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '.' ||
         c == '-' || c == '_';
}

unsigned byte_at(std::string_view text, std::size_t i) {
  return static_cast<unsigned char>(text[i]);
}

/// Length of the well-formed UTF-8 character of several bytes that starts `text`, or 0.
std::size_t multibyte_length(std::string_view text) {
  const unsigned lead = byte_at(text, 0);
  const std::size_t length = lead >= 0xC2 && lead <= 0xDF   ? 2
                             : lead >= 0xE0 && lead <= 0xEF ? 3
                             : lead >= 0xF0 && lead <= 0xF4 ? 4
                                                            : 0;
  if (length == 0 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((byte_at(text, i) & 0xC0U) != 0x80U) return 0;
  const unsigned second = byte_at(text, 1);
  const bool overlong = (lead == 0xE0 && second < 0xA0) || (lead == 0xF0 && second < 0x90);
  const bool beyond = (lead == 0xED && second > 0x9F) || (lead == 0xF4 && second > 0x8F);
  const bool control = lead == 0xC2 && second < 0xA0;
  return overlong || beyond || control ? 0 : length;
}

/// The longest start of at most `bytes` that does not cut a character.
std::string_view whole_characters(std::string_view text, std::size_t bytes) {
  if (text.size() <= bytes) return text;
  while (bytes > 0 && (byte_at(text, bytes) & 0xC0U) == 0x80U) --bytes;
  return text.substr(0, bytes);
}

std::string with_harmless_characters(std::string_view name) {
  std::string out;
  while (!name.empty()) {
    const std::size_t length = is_plain(name.front()) ? 1 : multibyte_length(name);
    if (length > 0)
      out += name.substr(0, length);
    else if (!out.ends_with('_'))
      out += '_';
    name.remove_prefix(std::max<std::size_t>(length, 1));
  }
  return out;
}

Error wrong(std::string where, std::string what, std::string remedy) {
  return {Fault::command, std::move(where), std::move(what), std::move(remedy)};
}

void require_channel_number(int channel, const std::string& name) {
  if (channel < 1)
    throw wrong(name, fmt::format("{} is not a channel number", channel), "channels count from 1");
}

void require_different(const Take& take) {
  const auto* tacho = std::get_if<TachoSpeed>(&take.speed);
  const bool reference_repeats = take.reference_channel == take.channel;
  const bool tacho_repeats = tacho != nullptr && (tacho->channel == take.channel ||
                                                  tacho->channel == take.reference_channel);
  if (reference_repeats || tacho_repeats)
    throw wrong("channels", "probe, reference and tacho must be different channels",
                "give each its own channel number");
}

void require_tacho(const TachoSpeed& tacho) {
  require_channel_number(tacho.channel, "tacho channel");
  const double pulses = tacho.pulses_per_revolution;
  if (!(pulses > 0.0 && pulses <= most_pulses_per_revolution))
    throw wrong("pulses per revolution", fmt::format("{:g} is not possible", pulses),
                fmt::format("give a number above 0 and up to {:g}", most_pulses_per_revolution));
}

}  // namespace

bool leads_inside(std::string_view path) {
  if (path.empty() || path.find('\0') != std::string_view::npos) return false;
  const std::filesystem::path parts(path);
  return parts.is_relative() &&
         std::ranges::none_of(parts, [](const auto& p) { return p == ".."; });
}

std::string sanitised_name(std::string_view name) {
  constexpr std::size_t longest = 80;
  constexpr std::size_t longest_ending = 12;
  const std::string clean = with_harmless_characters(name);
  if (clean.empty()) return "_";
  const auto dot = clean.rfind('.');
  const bool has_ending = dot != std::string::npos && clean.size() - dot <= longest_ending;
  const std::string ending = has_ending ? clean.substr(dot) : std::string{};
  const std::string_view stem = std::string_view(clean).substr(0, clean.size() - ending.size());
  return std::string(whole_characters(stem, longest - ending.size())) + ending;
}

void require_sound_request(const Take& take) {
  if (take.point.empty())
    throw wrong("probe point", "has no name", "say where the microphone touched");
  require_channel_number(take.channel, "channel");
  if (take.reference_channel) require_channel_number(*take.reference_channel, "reference channel");
  if (const auto* tacho = std::get_if<TachoSpeed>(&take.speed)) require_tacho(*tacho);
  require_different(take);
  if (take.road_speed_kmh &&
      !(*take.road_speed_kmh >= 0.0 && *take.road_speed_kmh <= highest_road_speed_kmh))
    throw wrong("road speed", fmt::format("{:g} km/h is not possible", *take.road_speed_kmh),
                fmt::format("give 0 to {:g} km/h", highest_road_speed_kmh));
}

void require_channels(const Take& take, int channels, const std::string& recording) {
  const auto require = [&](int channel, std::string_view name) {
    if (channel <= channels) return;
    throw wrong(fmt::format("{} {}", name, channel),
                fmt::format("{} has {} channel{}", recording, channels, channels == 1 ? "" : "s"),
                channels == 1 ? "use channel 1" : fmt::format("choose 1 to {}", channels));
  };
  require(take.channel, "channel");
  if (take.reference_channel) require(*take.reference_channel, "reference channel");
  if (const auto* tacho = std::get_if<TachoSpeed>(&take.speed))
    require(tacho->channel, "tacho channel");
}

}  // namespace howl
