#include "src/cli/stop_signals.h"

#include <array>
#include <csignal>
#include <cstddef>

namespace howl {

namespace {

constexpr std::array<int, 3> stopping{SIGINT, SIGTERM, SIGHUP};

volatile std::sig_atomic_t was_asked = 0;

void note(int /*signal*/) { was_asked = 1; }

}  // namespace

StopSignals::StopSignals() {
  was_asked = 0;
  for (std::size_t i = 0; i < stopping.size(); ++i) before_[i] = std::signal(stopping[i], note);
  before_[stopping.size()] = std::signal(SIGXFSZ, SIG_IGN);
}

StopSignals::~StopSignals() {
  for (std::size_t i = 0; i < stopping.size(); ++i) std::signal(stopping[i], before_[i]);
  std::signal(SIGXFSZ, before_[stopping.size()]);
}

bool StopSignals::asked() const { return was_asked != 0; }

}  // namespace howl
