#include "src/audio/wav_bytes.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace howl {
namespace {

void append_number(std::string& bytes, std::uint32_t value, int count) {
  for (int i = 0; i < count; ++i) bytes += static_cast<char>(value >> (8 * i) & 0xFFU);
}

}  // namespace

std::string wav16_bytes(std::span<const float> samples, int sample_rate) {
  constexpr std::uint32_t bytes_per_sample = 2;
  const auto rate = static_cast<std::uint32_t>(sample_rate);
  const auto data = static_cast<std::uint32_t>(samples.size()) * bytes_per_sample;
  std::string bytes = "RIFF";
  append_number(bytes, 36 + data, 4);
  bytes += "WAVEfmt ";
  append_number(bytes, 16, 4);
  append_number(bytes, 1, 2);  // whole numbers
  append_number(bytes, 1, 2);  // one channel
  append_number(bytes, rate, 4);
  append_number(bytes, rate * bytes_per_sample, 4);
  append_number(bytes, bytes_per_sample, 2);
  append_number(bytes, 16, 2);
  bytes += "data";
  append_number(bytes, data, 4);
  for (const float sample : samples) {
    const double scaled = std::clamp(static_cast<double>(sample), -1.0, 1.0) * 32767.0;
    append_number(bytes, static_cast<std::uint32_t>(std::lround(scaled)), 2);
  }
  return bytes;
}

}  // namespace howl
