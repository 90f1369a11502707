#include "src/cli/watched_recording.h"

#include <optional>

#include "src/cli/meter_line.h"

namespace howl {

namespace {

bool ends_recording(char key) { return key == ' ' || key == '\n' || key == 'q'; }

}  // namespace

RecordingWatch watch_in_terminal(const RecordOrder& order, Session& session,
                                 const StopSignals& signals, const KeyWatch& keys) {
  RecordingWatch watch;
  watch.stop = [&signals, &keys] {
    const auto key = keys.key();
    return signals.asked() || (key && ends_recording(*key));
  };
  if (!session.quiet)
    watch.show = [&session, rate = order.take.sample_rate,
                  length = order.length](const RecordingView& view) {
      session.progress_line.show_text(meter_line(view, rate, length));
    };
  return watch;
}

}  // namespace howl
