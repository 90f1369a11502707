#include "src/cli/key_watch.h"

#include <poll.h>
#include <unistd.h>

#include <iostream>

namespace howl {

KeyWatch::KeyWatch() {
  termios settings{};
  if (::isatty(STDIN_FILENO) != 1 || ::tcgetattr(STDIN_FILENO, &settings) != 0) return;
  before_ = settings;
  settings.c_lflag &= ~static_cast<tcflag_t>(ICANON | ECHO);
  single_keys_ = settings;
  ::tcsetattr(STDIN_FILENO, TCSANOW, &single_keys_);
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

std::optional<std::string> KeyWatch::line() const {
  if (before_) ::tcsetattr(STDIN_FILENO, TCSANOW, &*before_);
  std::string text;
  const bool there = static_cast<bool>(std::getline(std::cin, text));
  if (before_) ::tcsetattr(STDIN_FILENO, TCSANOW, &single_keys_);
  return there ? std::optional(text) : std::nullopt;
}

}  // namespace howl
