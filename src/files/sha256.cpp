#include "src/files/sha256.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <stdexcept>

#include "src/files/read_file.h"

namespace howl {

struct Sha256::State {
  struct Free {
    void operator()(EVP_MD_CTX* finished) const { EVP_MD_CTX_free(finished); }
  };
  std::unique_ptr<EVP_MD_CTX, Free> context{EVP_MD_CTX_new()};
};

namespace {

void require(int success) {
  if (success != 1) throw std::runtime_error("SHA-256 is not available in libcrypto");
}

}  // namespace

Sha256::Sha256() : state_(std::make_unique<State>()) {
  require(EVP_DigestInit_ex(state_->context.get(), EVP_sha256(), nullptr));
}
Sha256::~Sha256() = default;
Sha256::Sha256(Sha256&&) noexcept = default;
Sha256& Sha256::operator=(Sha256&&) noexcept = default;

void Sha256::add(std::span<const std::byte> bytes) {
  require(EVP_DigestUpdate(state_->context.get(), bytes.data(), bytes.size()));
}

std::string Sha256::finish() {
  std::array<unsigned char, 32> digest{};
  require(EVP_DigestFinal_ex(state_->context.get(), digest.data(), nullptr));
  std::string text;
  for (const unsigned char byte : digest) text += fmt::format("{:02x}", byte);
  return text;
}

std::string sha256_of_text(std::string_view text) {
  Sha256 hash;
  hash.add(std::as_bytes(std::span(text)));
  return hash.finish();
}

std::string sha256_bytes_of_text(std::string_view text) {
  const std::string digits = sha256_of_text(text);
  std::string bytes;
  for (std::size_t i = 0; i < digits.size(); i += 2)
    bytes += static_cast<char>(std::stoi(digits.substr(i, 2), nullptr, 16));
  return bytes;
}

std::string sha256_of_file(const std::filesystem::path& file) {
  Sha256 hash;
  for_each_piece(file, [&](std::span<const std::byte> piece) { hash.add(piece); });
  return hash.finish();
}

}  // namespace howl
