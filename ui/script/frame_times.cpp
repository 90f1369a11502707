#include "ui/script/frame_times.h"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <fstream>

#include "dsp/statistics.h"

namespace howl::desk {
namespace {

double milliseconds(std::chrono::steady_clock::duration time) {
  return std::chrono::duration<double, std::milli>(time).count();
}

double memory_mb() {
  std::ifstream file("/proc/self/statm");
  double pages = 0;
  double resident = 0;
  file >> pages >> resident;
  return resident * static_cast<double>(::sysconf(_SC_PAGESIZE)) / 1e6;
}

}  // namespace

void FrameTimes::ended() { milliseconds_.push_back(milliseconds(Clock::now() - begin_)); }

void FrameTimes::showed(bool with_case) {
  const double now = milliseconds(Clock::now() - started_);
  if (first_picture_ms_ == 0) first_picture_ms_ = now;
  if (with_case && first_case_ms_ == 0) first_case_ms_ = now;
}

std::string FrameTimes::words() const {
  if (milliseconds_.empty()) return "no frames";
  return fmt::format(
      "frames {}; own code: median {:.2f} ms, 99 % {:.2f} ms, most {:.2f} ms; first picture after "
      "{:.0f} ms, of a case after {:.0f} ms; memory {:.0f} MB",
      milliseconds_.size(), median(milliseconds_), quantile(milliseconds_, 0.99),
      *std::ranges::max_element(milliseconds_), first_picture_ms_, first_case_ms_, memory_mb());
}

}  // namespace howl::desk
