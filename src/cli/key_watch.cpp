#include "src/cli/key_watch.h"

#include <poll.h>
#include <unistd.h>

namespace howl {

KeyWatch::KeyWatch() {
  termios settings{};
  if (::isatty(STDIN_FILENO) != 1 || ::tcgetattr(STDIN_FILENO, &settings) != 0) return;
  before_ = settings;
  settings.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
  ::tcsetattr(STDIN_FILENO, TCSANOW, &settings);
}

KeyWatch::~KeyWatch() {
  if (before_) ::tcsetattr(STDIN_FILENO, TCSANOW, &*before_);
}

std::optional<char> KeyWatch::key() const {
  if (!before_) return std::nullopt;
  pollfd input{.fd = STDIN_FILENO, .events = POLLIN, .revents = 0};
  char pressed{};
  if (::poll(&input, 1, 0) != 1 || ::read(STDIN_FILENO, &pressed, 1) != 1) return std::nullopt;
  return pressed;
}

}  // namespace howl
