#include "src/cli/progress_line.h"

#include <fmt/format.h>

#include <algorithm>
#include <cstdio>

#include "src/cli/standard_streams.h"
#include "src/report/text_columns.h"

namespace howl {
namespace {

constexpr std::size_t widest_stage = 60;
constexpr const char* start_of_empty_line = "\r\033[K";

void write_now(const std::string& text) {
  std::fwrite(text.data(), 1, text.size(), stderr);
  std::fflush(stderr);
}

}  // namespace

ProgressLine::ProgressLine() : visible_(standard_error_is_terminal()) {}
ProgressLine::~ProgressLine() { clear(); }

void ProgressLine::show(double fraction, std::string_view stage) {
  show_text(fmt::format("{:3.0f} %  {}", 100.0 * std::clamp(fraction, 0.0, 1.0),
                        shortened(printable(stage), widest_stage)));
}

void ProgressLine::show_text(const std::string& line) {
  if (!visible_ || line == shown_) return;
  write_now(start_of_empty_line + line);
  shown_ = line;
}

void ProgressLine::clear() {
  if (shown_.empty()) return;
  write_now(start_of_empty_line);
  shown_.clear();
}

}  // namespace howl
