#pragma once

#include <sys/resource.h>

#include <csignal>

namespace howl::test {

/// As long as it lives, no file of this process grows beyond `bytes`: writing fails as on a full
/// disk.
class LimitedFileSize {
 public:
  explicit LimitedFileSize(rlim_t bytes) : handler_(std::signal(SIGXFSZ, SIG_IGN)) {
    getrlimit(RLIMIT_FSIZE, &before_);
    const rlimit limited{.rlim_cur = bytes, .rlim_max = before_.rlim_max};
    setrlimit(RLIMIT_FSIZE, &limited);
  }
  ~LimitedFileSize() {
    setrlimit(RLIMIT_FSIZE, &before_);
    std::signal(SIGXFSZ, handler_);
  }
  LimitedFileSize(const LimitedFileSize&) = delete;
  LimitedFileSize& operator=(const LimitedFileSize&) = delete;

 private:
  rlimit before_{};
  void (*handler_)(int);
};

}  // namespace howl::test
