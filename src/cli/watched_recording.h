#pragma once

#include "src/cli/key_watch.h"
#include "src/cli/session.h"
#include "src/cli/stop_signals.h"
#include "src/record/record_take.h"

namespace howl {

/// How a recording is watched in a terminal: a meter line, and Space, Enter, q or a signal that
/// ends it. All must outlive what is returned.
RecordingWatch watch_in_terminal(const RecordOrder& order, Session& session,
                                 const StopSignals& signals, const KeyWatch& keys);

}  // namespace howl
