#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <span>
#include <string>
#include <string_view>

namespace howl {

/// SHA-256 (FIPS 180-4), fed piece by piece.
class Sha256 {
 public:
  Sha256();
  ~Sha256();
  Sha256(Sha256&&) noexcept;
  Sha256& operator=(Sha256&&) noexcept;

  void add(std::span<const std::byte> bytes);
  /// 64 lower-case hexadecimal digits of all that was added; call once.
  std::string finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

std::string sha256_of_text(std::string_view text);
/// The 32 bytes themselves.
std::string sha256_bytes_of_text(std::string_view text);

/// SHA-256 of a file's bytes. Throws Error if it cannot be read.
std::string sha256_of_file(const std::filesystem::path& file);

}  // namespace howl
