#pragma once

#include <string>
#include <string_view>

namespace howl {

/// One line on standard error that is rewritten as work goes on. Shows nothing where standard error
/// is not a terminal.
class ProgressLine {
 public:
  ProgressLine();
  ~ProgressLine();
  ProgressLine(const ProgressLine&) = delete;
  ProgressLine& operator=(const ProgressLine&) = delete;

  /// `fraction` from 0 to 1; `stage` says what is being done.
  void show(double fraction, std::string_view stage);
  /// Any text of one line.
  void show_text(const std::string& line);
  void clear();
  bool visible() const { return visible_; }

 private:
  bool visible_{};
  std::string shown_;
};

}  // namespace howl
