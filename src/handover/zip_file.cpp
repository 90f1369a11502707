#include "src/handover/zip_file.h"

#include <zip.h>

#include <algorithm>
#include <cstdlib>
#include <exception>
#include <memory>
#include <new>
#include <utility>
#include <vector>

#include "src/errors.h"

namespace howl::handover {
namespace {

// 1980-01-01 00:00:00, the first moment that a ZIP file knows.
constexpr zip_uint16_t first_time = 0;
constexpr zip_uint16_t first_date = 0x21;
constexpr std::size_t read_bytes = std::size_t{1} << 16U;

Error zip_error(const std::filesystem::path& file, const std::string& why) {
  return {Fault::file, file.string(), "is no packed case that can be read (" + why + ")",
          "take another copy of it"};
}

/// Exceptions may not pass through the C of the library.
struct Watch {
  const Progress* progress{};
  std::exception_ptr thrown;
};

void show_packing(zip_t* /*archive*/, double fraction, void* to) {
  auto& watch = *static_cast<Watch*>(to);
  try {
    if (!watch.thrown) (*watch.progress)(fraction, "packing");
  } catch (...) {
    watch.thrown = std::current_exception();
  }
}

int asked_to_stop(zip_t* /*archive*/, void* watch) {
  return static_cast<Watch*>(watch)->thrown ? 1 : 0;
}

bool is_plain_file(zip_t* archive, zip_uint64_t index, const zip_stat_t& stat) {
  zip_uint8_t system{};
  zip_uint32_t attributes{};
  zip_file_get_external_attributes(archive, index, 0, &system, &attributes);
  const zip_uint32_t type = attributes >> 16U & 0170000U;  // of a Unix mode
  const bool unix_plain = system != ZIP_OPSYS_UNIX || type == 0 || type == 0100000U;
  const bool encrypted =
      (stat.valid & ZIP_STAT_ENCRYPTION_METHOD) != 0 && stat.encryption_method != ZIP_EM_NONE;
  return unix_plain && !encrypted;
}

}  // namespace

ZipWriter::ZipWriter(std::filesystem::path file) : file_(std::move(file)) {
  int code = 0;
  archive_ = zip_open(file_.c_str(), ZIP_CREATE | ZIP_TRUNCATE, &code);
  if (archive_ == nullptr)
    throw Error(Fault::machine, file_.string(), "cannot be written",
                "check the folder and the space on the disk");
}

ZipWriter::~ZipWriter() {
  if (archive_ != nullptr) zip_discard(archive_);
}

void ZipWriter::fail() const {
  throw Error(Fault::machine, file_.string(),
              std::string("cannot be written: ") + zip_strerror(archive_),
              "check the folder and the space on the disk");
}

void ZipWriter::add(const std::string& name, void* source) {
  auto* const from = static_cast<zip_source_t*>(source);
  if (from == nullptr) fail();
  const zip_int64_t index = zip_file_add(archive_, name.c_str(), from, ZIP_FL_ENC_UTF_8);
  if (index < 0) {
    zip_source_free(from);
    fail();
  }
  const auto at = static_cast<zip_uint64_t>(index);
  zip_file_set_dostime(archive_, at, first_time, first_date, 0);
  zip_file_set_external_attributes(archive_, at, 0, ZIP_OPSYS_UNIX, 0100644U << 16U);
}

void ZipWriter::add_text(const std::string& name, std::string text) {
  void* const kept = std::malloc(text.size());  // the library frees it
  if (kept == nullptr && !text.empty()) throw std::bad_alloc();
  std::copy(text.begin(), text.end(), static_cast<char*>(kept));
  add(name, zip_source_buffer(archive_, kept, text.size(), 1));
}

void ZipWriter::add_file(const std::string& name, const std::filesystem::path& source) {
  add(name, zip_source_file(archive_, source.c_str(), 0, -1));
}

void ZipWriter::finish(const Progress& progress) {
  Watch watch{&progress, {}};
  constexpr double every = 0.005;
  zip_register_progress_callback_with_state(archive_, every, show_packing, nullptr, &watch);
  zip_register_cancel_callback_with_state(archive_, asked_to_stop, nullptr, &watch);
  const int closed = zip_close(archive_);
  if (watch.thrown) {
    zip_discard(std::exchange(archive_, nullptr));
    std::rethrow_exception(watch.thrown);
  }
  if (closed != 0) fail();
  archive_ = nullptr;
}

ZipReader::ZipReader(std::filesystem::path file) : file_(std::move(file)) {
  int code = 0;
  archive_ = zip_open(file_.c_str(), ZIP_RDONLY | ZIP_CHECKCONS, &code);
  if (archive_ != nullptr) return;
  zip_error_t why;
  zip_error_init_with_code(&why, code);
  const std::string words = zip_error_strerror(&why);
  zip_error_fini(&why);
  throw zip_error(file_, words);
}

ZipReader::~ZipReader() { zip_discard(archive_); }

std::size_t ZipReader::count() const {
  return static_cast<std::size_t>(zip_get_num_entries(archive_, 0));
}

ZipEntry ZipReader::entry(std::size_t index) const {
  zip_stat_t stat;
  zip_stat_init(&stat);
  constexpr zip_uint64_t needed = ZIP_STAT_NAME | ZIP_STAT_SIZE;
  if (zip_stat_index(archive_, index, ZIP_FL_ENC_GUESS, &stat) != 0 ||
      (stat.valid & needed) != needed)
    throw zip_error(file_, "its directory is damaged");
  return {stat.name, stat.size, is_plain_file(archive_, index, stat)};
}

void ZipReader::read(std::size_t index,
                     const std::function<void(std::span<const std::byte>)>& take) const {
  const std::unique_ptr<zip_file_t, int (*)(zip_file_t*)> source(
      zip_fopen_index(archive_, index, 0), zip_fclose);
  if (!source) throw zip_error(file_, zip_strerror(archive_));
  std::vector<std::byte> buffer(read_bytes);
  for (;;) {
    const zip_int64_t got = zip_fread(source.get(), buffer.data(), buffer.size());
    if (got < 0) throw zip_error(file_, zip_file_strerror(source.get()));
    if (got == 0) return;
    take(std::span(buffer).first(static_cast<std::size_t>(got)));
  }
}

}  // namespace howl::handover
