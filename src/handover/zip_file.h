#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <functional>
#include <memory>
#include <span>
#include <string>

#include "src/analysis/analyse.h"

struct zip;

namespace howl::handover {

/// A ZIP file that is written anew, in which every file has the same date.
class ZipWriter {
 public:
  explicit ZipWriter(std::filesystem::path file);
  ~ZipWriter();
  ZipWriter(const ZipWriter&) = delete;
  ZipWriter& operator=(const ZipWriter&) = delete;

  void add_text(const std::string& name, std::string text);
  void add_file(const std::string& name, const std::filesystem::path& source);
  /// Reads all sources and writes the file. Throws Error, and what `progress` throws.
  void finish(const Progress& progress);

 private:
  void add(const std::string& name, void* source);
  [[noreturn]] void fail() const;

  std::filesystem::path file_;
  zip* archive_{};
};

/// What the directory of a ZIP file says of one of its files; all of it may be a lie.
struct ZipEntry {
  std::string name;
  std::uint64_t bytes{};
  bool plain{};  ///< an ordinary file, not encrypted: no link, folder or device
};

/// A ZIP file of anybody's. Throws Error (file fault) where it is none, or is not consistent.
class ZipReader {
 public:
  explicit ZipReader(std::filesystem::path file);
  ~ZipReader();
  ZipReader(const ZipReader&) = delete;
  ZipReader& operator=(const ZipReader&) = delete;

  std::size_t count() const;
  ZipEntry entry(std::size_t index) const;
  /// Hands over a file's bytes, as many as there are, and checks them against their CRC at the end.
  void read(std::size_t index, const std::function<void(std::span<const std::byte>)>& take) const;

 private:
  std::filesystem::path file_;
  zip* archive_{};
};

}  // namespace howl::handover
