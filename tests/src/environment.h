#pragma once

#include <cstdlib>
#include <optional>
#include <string>

namespace howl::test {

/// Sets a variable of the environment, and puts it back.
class Variable {
 public:
  Variable(const char* name, const std::string& value) : name_(name) {
    if (const char* const old = std::getenv(name)) old_ = old;
    setenv(name, value.c_str(), 1);
  }
  ~Variable() {
    if (old_)
      setenv(name_, old_->c_str(), 1);
    else
      unsetenv(name_);
  }
  Variable(const Variable&) = delete;
  Variable& operator=(const Variable&) = delete;

 private:
  const char* name_;
  std::optional<std::string> old_;
};

}  // namespace howl::test
