#pragma once

#include <termios.h>

#include <optional>

namespace howl {

/// Single keys from standard input, where that is a terminal; as long as it lives, the terminal
/// does not show them and does not wait for a whole line.
class KeyWatch {
 public:
  KeyWatch();
  ~KeyWatch();
  KeyWatch(const KeyWatch&) = delete;
  KeyWatch& operator=(const KeyWatch&) = delete;

  /// Whether there is anybody who could press one.
  bool possible() const { return before_.has_value(); }
  /// One that was pressed; never waits.
  std::optional<char> key() const;

 private:
  std::optional<termios> before_;
};

}  // namespace howl
