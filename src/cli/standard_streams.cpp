#include "src/cli/standard_streams.h"

#include <fcntl.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdio>
#include <string>
#include <system_error>

#include "src/errors.h"

namespace howl {
namespace {

void occupy_if_closed(int descriptor, int mode) {
  if (::fcntl(descriptor, F_GETFD) != -1 || errno != EBADF) return;
  // The lowest free descriptor is this one, as the lower ones are occupied already.
  [[maybe_unused]] const int opened = ::open("/dev/null", mode);
}

}  // namespace

void prepare_standard_streams() {
  std::signal(SIGPIPE, SIG_IGN);
  occupy_if_closed(STDIN_FILENO, O_RDONLY);
  occupy_if_closed(STDOUT_FILENO, O_RDONLY);  // read-only: results that go nowhere must fail
  occupy_if_closed(STDERR_FILENO, O_WRONLY);
}

void print_result(std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(STDOUT_FILENO, text.data(), text.size());
    if (written >= 0) {
      text.remove_prefix(static_cast<std::size_t>(written));
      continue;
    }
    if (errno == EINTR) continue;
    if (errno == EPIPE) return;
    throw Error(Fault::machine, "standard output",
                "cannot write the result (" + std::generic_category().message(errno) + ")",
                "check where the output goes, and its disk");
  }
}

void print_message(std::string_view line) {
  std::string text(line);
  text += '\n';
  std::fwrite(text.data(), 1, text.size(), stderr);
}

bool standard_error_is_terminal() { return ::isatty(STDERR_FILENO) == 1; }
bool standard_output_is_terminal() { return ::isatty(STDOUT_FILENO) == 1; }

}  // namespace howl
