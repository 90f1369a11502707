#pragma once

#include <memory>

#include "src/record/sound_system.h"

namespace howl {

/// The computer's sound devices through PortAudio. One at a time. Throws Error (machine fault)
/// where PortAudio cannot be started.
std::unique_ptr<SoundSystem> portaudio_system();

}  // namespace howl
