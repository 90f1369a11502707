#pragma once

namespace howl {

/// As long as it lives, the signals that would end the program (interrupt, terminate, hang-up) ask
/// it to stop instead, and a file that grows too large is an ordinary write error. One at a time.
class StopSignals {
 public:
  StopSignals();
  ~StopSignals();
  StopSignals(const StopSignals&) = delete;
  StopSignals& operator=(const StopSignals&) = delete;

  /// Whether one came since the beginning.
  bool asked() const;

 private:
  using Handler = void (*)(int);
  Handler before_[4];
};

}  // namespace howl
