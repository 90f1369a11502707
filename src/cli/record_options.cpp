#include "src/cli/record_options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <algorithm>
#include <cmath>
#include <utility>
#include <variant>

#include "src/case/take_rules.h"
#include "src/entry/typed_values.h"
#include "src/errors.h"

namespace howl {
namespace {

constexpr double usual_rate = 48'000.0;
constexpr int most_channels = 64;

double rate_of(const RecordOptions& options) {
  if (!options.rate) return usual_rate;
  const double rate = number_of(*options.rate, "--rate");
  if (rate >= 4000.0 && rate <= 384'000.0 && rate == std::floor(rate)) return rate;
  throw Error(Fault::command, "--rate " + *options.rate, "is no sample rate that can be used",
              "give a whole number of Hz from 4000 to 384000; 48000 suits nearly everything");
}

/// The highest channel that the take uses.
int channels_used(const Take& take) {
  int highest = std::max(take.channel, take.reference_channel.value_or(1));
  if (const auto* tacho = std::get_if<TachoSpeed>(&take.speed))
    highest = std::max(highest, tacho->channel);
  return highest;
}

int channels_of(const RecordOptions& options, const Take& take, const SoundDevice& device) {
  const int used = channels_used(take);
  const int wanted = options.channels ? count_of(*options.channels, "--channels") : used;
  if (wanted < used)
    throw Error(Fault::command, "--channels " + *options.channels,
                fmt::format("the take needs channel {}", used),
                "record as many channels as the highest that is used");
  if (wanted > std::min(device.inputs, most_channels))
    throw Error(Fault::command, fmt::format("device '{}'", device.name),
                fmt::format("has {} input channel{}, and {} are wanted", device.inputs,
                            device.inputs == 1 ? "" : "s", wanted),
                "use channels that it has, or another --device");
  return wanted;
}

void set_monitor(const RecordOptions& options, const std::vector<SoundDevice>& devices,
                 RecordOrder& order) {
  if (!options.monitor && !options.monitor_device && !options.monitor_gain) return;
  order.monitor = choose_output(devices, options.monitor_device);
  order.monitor_settings.channel = order.take.channel;
  if (options.monitor_gain)
    order.monitor_settings.gain = Decibel(number_of(*options.monitor_gain, "--monitor-gain"));
}

Seconds length_of(const std::string& seconds) {
  const double length = positive_of(seconds, "--seconds");
  if (length >= shortest_take_seconds) return Seconds(length);
  throw Error(Fault::command, "--seconds " + seconds,
              fmt::format("is too short; a take lasts {:g} s or more", shortest_take_seconds),
              "record for some ten seconds");
}

}  // namespace

void describe_record_options(CLI::App& command, RecordOptions& options) {
  command
      .add_option("--seconds", options.seconds,
                  "Length of the take; without it, a key or Ctrl-C ends it")
      ->type_name("S");
  command.add_option("--device", options.device, "Number or name from 'howlpoint devices'")
      ->type_name("NAME");
  command.add_option("--rate", options.rate, "Samples a second, Hz (default 48000)")
      ->type_name("HZ");
  command
      .add_option("--channels", options.channels,
                  "How many channels to record (default: as many as are used)")
      ->type_name("N");
  command.add_flag("--float", options.as_float, "Write 32-bit float instead of 24-bit samples");
  command.add_option("--countdown", options.countdown, "Seconds to wait before it begins")
      ->type_name("S");
  command
      .add_option("--start-level", options.start_level,
                  "Begin when channel 1 gets as loud as this, dB re\nfull-scale sine: -40")
      ->type_name("DB");
  command.add_flag("--monitor", options.monitor,
                   "Play the probe to the headphones, never louder than\n-12 dB re full scale");
  command
      .add_option("--monitor-device", options.monitor_device,
                  "Where the headphones are, if not at the usual device")
      ->type_name("NAME");
  command.add_option("--monitor-gain", options.monitor_gain, "Louder or softer there, dB")
      ->type_name("DB");
}

RecordOrder record_order(const RecordOptions& options, const std::string& folder, Take take,
                         bool make_point, const std::vector<SoundDevice>& devices) {
  RecordOrder order;
  order.folder = folder;
  order.device = choose_input(devices, options.device);
  take.sample_rate = rate_of(options);
  take.channels = channels_of(options, take, order.device);
  order.take = std::move(take);
  order.make_point = make_point;
  order.coding = options.as_float ? SampleCoding::float32 : SampleCoding::pcm24;
  if (options.seconds) order.length = length_of(*options.seconds);
  if (options.countdown)
    order.countdown = Seconds(not_negative_of(*options.countdown, "--countdown"));
  if (options.start_level)
    order.start_level = Decibel(number_of(*options.start_level, "--start-level"));
  set_monitor(options, devices, order);
  return order;
}

}  // namespace howl
