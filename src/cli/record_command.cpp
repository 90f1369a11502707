#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <memory>
#include <string>
#include <utility>

#include "src/cli/commands.h"
#include "src/cli/key_watch.h"
#include "src/cli/record_options.h"
#include "src/cli/standard_streams.h"
#include "src/cli/stop_signals.h"
#include "src/cli/take_options.h"
#include "src/cli/take_warnings.h"
#include "src/cli/tell_mended.h"
#include "src/cli/watched_recording.h"
#include "src/errors.h"
#include "src/keeping/add_take.h"
#include "src/record/gain_hint.h"
#include "src/record/portaudio_system.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

struct RecordCommandOptions {
  std::string folder;
  TakeOptions take;
  RecordOptions record;
};

RecordedSound record_watched(SoundSystem& system, const RecordOrder& order, Session& session) {
  const StopSignals signals;
  const KeyWatch keys;
  if (!session.quiet && keys.possible()) print_message("Space or Enter ends the recording.");
  RecordedSound sound =
      record_sound(system, order, watch_in_terminal(order, session, signals, keys));
  session.progress_line.clear();
  return sound;
}

void tell_overruns(const std::vector<Overrun>& overruns) {
  if (overruns.empty()) return;
  print_message(fmt::format(
      "warning: sound was lost in {} place{}, first at {:.2f} s; close other programs, and record "
      "again",
      overruns.size(), overruns.size() == 1 ? "" : "s", overruns.front().at.value));
}

/// A take of the case, unless it holds nothing at all.
AddedTake kept(UnfinishedTake& take) {
  try {
    return take.keep();
  } catch (const Error& refusal) {
    if (refusal.fault() != Fault::file || !take.is_silent()) throw;
    take.discard();
    throw Error(Fault::machine, "recording", "is digital silence, and was not kept",
                "check that the microphone is connected and that this is its channel, then record "
                "again");
  }
}

/// What there is is kept, whatever ended the recording.
void keep_sound(RecordedSound& sound, const RecordOrder& order, const Session& session) {
  if (sound.saved_elsewhere) return;
  if (sound.status.frames == 0) {
    sound.take.discard();
    if (!sound.fault)
      throw Error(Fault::command, "recording", "was ended before it began",
                  "let it run for some ten seconds");
    return;
  }
  tell_stored_take("Recorded", order.folder, kept(sound.take), session);
  if (session.quiet || sound.status.meters.empty()) return;
  const auto probe = static_cast<std::size_t>(order.take.channel - 1);
  if (const auto hint = gain_hint(sound.status.meters[probe])) print_message("gain: " + *hint);
}

void record(const RecordCommandOptions& options, Session& session) {
  const Take take = take_of(options.take);
  require_point(load_case(options.folder).points, options.take);
  tell_mended(options.folder, session);
  tell_cautions(take);
  const auto system = portaudio_system();
  const RecordOrder order =
      record_order(options.record, options.folder, take, options.take.new_point, system->devices());
  RecordedSound sound = record_watched(*system, order, session);
  for (const std::string& note : sound.notes) print_message("warning: " + printable(note));
  tell_overruns(sound.status.overruns);
  try {
    keep_sound(sound, order, session);
  } catch (const Error& error) {
    if (!sound.fault) throw;
    print_message(std::string("warning: ") + error.what());
  }
  if (sound.fault) throw Error(*sound.fault);
}

}  // namespace

void add_record_command(CLI::App& program, Session& session) {
  const auto options = std::make_shared<RecordCommandOptions>();
  CLI::App* command =
      program.add_subcommand("record", "Record a take at one probe point, straight into a case");
  command->footer(
      "howlpoint record whine --point \"transmission pan\" --rpm 1800 --seconds 12\n"
      "howlpoint record whine --point \"alternator bracket\" --rpm 1800 --seconds 12 \\\n"
      "    --device usb --reference-channel 2 --countdown 3");
  command->add_option("CASE", options->folder, "Folder of the case")->required();
  describe_point_options(*command, options->take);
  describe_record_options(*command, options->record);
  describe_speed_options(*command, options->take, false);
  describe_other_take_options(*command, options->take);
  command->callback([options, &session] { record(*options, session); });
}

}  // namespace howl
