#pragma once

#include <stdexcept>
#include <string>

namespace howl {

/// Whose fault it is; the value is the program's exit status.
enum class Fault { file = 1, command = 2, machine = 3 };

/// Anything that stops the work. Says what is wrong, where, and what to do about it. Caught only in
/// the mains and in job runners.
class Error : public std::runtime_error {
 public:
  /// `where` is a file, folder, line or option; `what` and `remedy` are short sentences without a
  /// full stop. what() reads "where: what; remedy".
  Error(Fault fault, std::string where, std::string what, std::string remedy);

  Fault fault() const { return fault_; }
  const std::string& where() const { return where_; }
  const std::string& problem() const { return problem_; }
  const std::string& remedy() const { return remedy_; }

 private:
  Fault fault_;
  std::string where_, problem_, remedy_;
};

}  // namespace howl
