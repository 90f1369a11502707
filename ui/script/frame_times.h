#pragma once

#include <chrono>
#include <string>
#include <vector>

namespace howl::desk {

/// How long our own code takes for a frame, without the drawing of it by OpenGL.
class FrameTimes {
 public:
  void began() { begin_ = Clock::now(); }
  void ended();
  void showed(bool with_case);
  void forget() { milliseconds_.clear(); }
  /// "frames 120; own code: median 0.9 ms, 99 % 2.1 ms, most 3.0 ms; first picture after 310 ms,
  /// of a case after 420 ms; memory 84 MB"
  std::string words() const;

 private:
  using Clock = std::chrono::steady_clock;
  Clock::time_point started_{Clock::now()};
  Clock::time_point begin_{};
  std::vector<double> milliseconds_;
  double first_picture_ms_{};
  double first_case_ms_{};
};

}  // namespace howl::desk
