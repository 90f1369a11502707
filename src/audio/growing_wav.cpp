#include "src/audio/growing_wav.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <sys/statvfs.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cerrno>
#include <cmath>
#include <cstring>
#include <limits>
#include <string_view>
#include <utility>

namespace howl {

namespace {

constexpr std::size_t header_bytes = 92;
constexpr std::size_t room_for_ds64 = 28;
constexpr std::size_t fmt_at = 48;
constexpr std::uint32_t in_ds64 = 0xFFFF'FFFFU;
constexpr std::uint16_t tag_pcm = 1;
constexpr std::uint16_t tag_float = 3;
constexpr std::size_t largest_write = std::size_t{1} << 20U;

class HeaderBytes {
 public:
  void id(std::string_view four) {
    for (const char c : four) bytes_.push_back(static_cast<std::byte>(c));
  }
  template <class Number>
  void number(Number value) {
    for (std::size_t i = 0; i < sizeof value; ++i)
      bytes_.push_back(static_cast<std::byte>((std::uint64_t{value} >> (8 * i)) & 0xFFU));
  }
  void zeros(std::size_t count) { bytes_.resize(bytes_.size() + count); }
  std::vector<std::byte> take() { return std::move(bytes_); }

 private:
  std::vector<std::byte> bytes_;
};

std::uint64_t number_at(std::span<const std::byte> bytes, std::size_t at, std::size_t size) {
  std::uint64_t value = 0;
  for (std::size_t i = size; i > 0; --i)
    value = value << 8U | std::to_integer<std::uint64_t>(bytes[at + i - 1]);
  return value;
}

bool has_id(std::span<const std::byte> bytes, std::size_t at, std::string_view id) {
  return std::memcmp(bytes.data() + at, id.data(), id.size()) == 0;
}

Error not_growing_wav(const std::filesystem::path& file) {
  return {Fault::file, file.string(), "is no recording that this program began",
          "move it out of the case, or add it with 'add'"};
}

Error not_written(const std::filesystem::path& file, int error_number) {
  return system_error(file, "cannot be written", error_number);
}

/// Everything, or the number of bytes that went before it failed; errno says why.
std::size_t write_all(int descriptor, std::span<const std::byte> bytes) {
  std::size_t done = 0;
  while (done < bytes.size()) {
    const auto piece = bytes.subspan(done, std::min(bytes.size() - done, largest_write));
    const ssize_t written = ::write(descriptor, piece.data(), piece.size());
    if (written < 0 && errno == EINTR) continue;
    if (written == 0) errno = ENOSPC;
    if (written <= 0) break;
    done += static_cast<std::size_t>(written);
  }
  return done;
}

void overwrite(int descriptor, const std::filesystem::path& file,
               std::span<const std::byte> header) {
  ssize_t written{};
  do written = ::pwrite(descriptor, header.data(), header.size(), 0);
  while (written < 0 && errno == EINTR);
  if (written != static_cast<ssize_t>(header.size()))
    throw not_written(file, written < 0 ? errno : ENOSPC);
}

/// File systems that cannot do it (EINVAL) keep the file as they keep any other.
void flush_to_disk(int descriptor, const std::filesystem::path& file) {
  if (::fdatasync(descriptor) != 0 && errno != EINVAL) throw not_written(file, errno);
}

void encode_pcm24(std::span<const float> samples, std::vector<std::byte>& out) {
  constexpr double scale = 8'388'608.0;
  std::size_t at = 0;
  for (const float sample : samples) {
    const double scaled = std::clamp(double{sample} * scale, -scale, scale - 1.0);
    const auto value = std::isnan(scaled) ? 0U : static_cast<std::uint32_t>(std::lround(scaled));
    for (unsigned shift = 0; shift < 24; shift += 8)
      out[at++] = static_cast<std::byte>((value >> shift) & 0xFFU);
  }
}

void encode_float(std::span<const float> samples, std::vector<std::byte>& out) {
  std::size_t at = 0;
  for (const float sample : samples) {
    const auto value = std::bit_cast<std::uint32_t>(sample);
    for (unsigned shift = 0; shift < 32; shift += 8)
      out[at++] = static_cast<std::byte>((value >> shift) & 0xFFU);
  }
}

WavLayout layout_in(std::span<const std::byte> header, const std::filesystem::path& file) {
  const bool riff = has_id(header, 0, "RIFF") || has_id(header, 0, "RF64");
  const bool reserved = has_id(header, 12, "JUNK") || has_id(header, 12, "ds64");
  if (!riff || !reserved || !has_id(header, 8, "WAVE") || !has_id(header, fmt_at, "fmt ") ||
      !has_id(header, header_bytes - 8, "data"))
    throw not_growing_wav(file);
  const auto tag = number_at(header, fmt_at + 8, 2);
  const auto bits = number_at(header, fmt_at + 22, 2);
  const bool pcm24 = tag == tag_pcm && bits == 24;
  const auto channels = static_cast<std::uint16_t>(number_at(header, fmt_at + 10, 2));
  if ((!pcm24 && !(tag == tag_float && bits == 32)) || channels == 0) throw not_growing_wav(file);
  return {.coding = pcm24 ? SampleCoding::pcm24 : SampleCoding::float32,
          .sample_rate = static_cast<std::uint32_t>(number_at(header, fmt_at + 12, 4)),
          .channels = channels};
}

std::uint64_t promised_in(std::span<const std::byte> header, const WavLayout& layout) {
  const std::uint64_t bytes =
      has_id(header, 0, "RF64") ? number_at(header, 28, 8) : number_at(header, header_bytes - 4, 4);
  return bytes / layout.frame_bytes();
}

std::uint64_t size_of(int descriptor, const std::filesystem::path& file) {
  struct stat status {};
  if (::fstat(descriptor, &status) != 0) throw system_error(file, "cannot be read", errno);
  return static_cast<std::uint64_t>(status.st_size);
}

/// Ends the file after whole frames. RIFF wants chunks of an even number of bytes; on a full disk,
/// where even one more cannot be had, the last frame goes instead. Returns the frames that stay.
std::uint64_t end_evenly(int descriptor, const std::filesystem::path& file, const WavLayout& layout,
                         std::uint64_t frames) {
  const std::array<std::byte, 1> pad{};
  const auto cut_after = [&](std::uint64_t kept) {
    const auto end = static_cast<off_t>(header_bytes + kept * layout.frame_bytes());
    if (::ftruncate(descriptor, end) != 0 || ::lseek(descriptor, end, SEEK_SET) < 0)
      throw not_written(file, errno);
    return kept;
  };
  cut_after(frames);
  const bool even = frames * layout.frame_bytes() % 2 == 0;
  return even || write_all(descriptor, pad) == 1 ? frames : cut_after(frames - 1);
}

}  // namespace

std::vector<std::byte> wav_header(const WavLayout& layout, std::uint64_t frames) {
  const std::uint64_t data = frames * layout.frame_bytes();
  const std::uint64_t riff = header_bytes - 8 + data + data % 2;
  const bool large = riff >= in_ds64;
  const auto in_32_bits = [&](std::uint64_t value) {
    return large ? in_ds64 : static_cast<std::uint32_t>(value);
  };
  const bool pcm = layout.coding == SampleCoding::pcm24;
  const auto frame = static_cast<std::uint16_t>(layout.frame_bytes());
  HeaderBytes out;
  out.id(large ? "RF64" : "RIFF");
  out.number(in_32_bits(riff));
  out.id("WAVE");
  out.id(large ? "ds64" : "JUNK");
  out.number(static_cast<std::uint32_t>(room_for_ds64));
  if (large) {
    out.number(riff);
    out.number(data);
    out.number(frames);
    out.number(std::uint32_t{0});  // no table
  } else {
    out.zeros(room_for_ds64);
  }
  out.id("fmt ");
  out.number(std::uint32_t{16});
  out.number(pcm ? tag_pcm : tag_float);
  out.number(layout.channels);
  out.number(layout.sample_rate);
  out.number(layout.sample_rate * frame);
  out.number(frame);
  out.number(static_cast<std::uint16_t>(pcm ? 24 : 32));
  out.id("fact");
  out.number(std::uint32_t{4});
  out.number(in_32_bits(frames));
  out.id("data");
  out.number(in_32_bits(data));
  return out.take();
}

GrowingWav::GrowingWav(std::filesystem::path file, WavLayout layout)
    : file_(std::move(file)),
      layout_(layout),
      out_(::open(file_.c_str(), O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666)) {
  if (out_.get() < 0) throw not_written(file_, errno);
  const auto header = wav_header(layout_, 0);
  if (write_all(out_.get(), header) == header.size()) return;
  const int reason = errno;
  ::unlink(file_.c_str());
  throw not_written(file_, reason);
}

void GrowingWav::write(std::span<const float> frames) {
  const bool pcm = layout_.coding == SampleCoding::pcm24;
  encoded_.resize(frames.size() * (pcm ? 3 : 4));
  if (pcm)
    encode_pcm24(frames, encoded_);
  else
    encode_float(frames, encoded_);
  append(encoded_);
}

void GrowingWav::append(std::span<const std::byte> bytes) {
  const std::size_t written = write_all(out_.get(), bytes);
  const int reason = errno;
  if (written != bytes.size()) cut_to_whole_frames(written);
  frames_ += written / layout_.frame_bytes();
  if (written != bytes.size()) throw not_written(file_, reason);
}

void GrowingWav::cut_to_whole_frames(std::size_t written) {
  const std::uint64_t frames = frames_ + written / layout_.frame_bytes();
  const auto end = static_cast<off_t>(header_bytes + frames * layout_.frame_bytes());
  // mend_wav() would do it too; where it fails here, nothing is lost.
  if (::ftruncate(out_.get(), end) == 0) ::lseek(out_.get(), end, SEEK_SET);
}

std::uint64_t GrowingWav::copy_to(const std::filesystem::path& other) const {
  const Descriptor copy(::open(other.c_str(), O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666));
  if (copy.get() < 0) throw not_written(other, errno);
  const auto header = wav_header(layout_, frames_);
  if (write_all(copy.get(), header) != header.size()) throw not_written(other, errno);
  std::vector<std::byte> piece(largest_write);
  std::uint64_t at = header_bytes;
  const std::uint64_t end = header_bytes + frames_ * layout_.frame_bytes();
  while (at < end) {
    const auto wanted = std::min<std::uint64_t>(piece.size(), end - at);
    const ssize_t got = ::pread(out_.get(), piece.data(), wanted, static_cast<off_t>(at));
    if (got <= 0) throw system_error(file_, "cannot be read back", got < 0 ? errno : EIO);
    const auto read = std::span(piece).first(static_cast<std::size_t>(got));
    if (write_all(copy.get(), read) != read.size()) throw not_written(other, errno);
    at += read.size();
  }
  end_evenly(copy.get(), other, layout_, frames_);
  flush_to_disk(copy.get(), other);
  return frames_;
}

bool GrowingWav::is_in_place() const {
  struct stat ours {};
  struct stat named {};
  return ::fstat(out_.get(), &ours) == 0 && ::stat(file_.c_str(), &named) == 0 &&
         ours.st_ino == named.st_ino && ours.st_dev == named.st_dev;
}

std::uint64_t GrowingWav::free_bytes() const {
  struct statvfs status {};
  if (::fstatvfs(out_.get(), &status) != 0) return std::numeric_limits<std::uint64_t>::max();
  return std::uint64_t{status.f_bavail} * status.f_frsize;
}

void GrowingWav::promise() {
  flush_to_disk(out_.get(), file_);
  overwrite(out_.get(), file_, wav_header(layout_, frames_));
}

void GrowingWav::finish() {
  frames_ = end_evenly(out_.get(), file_, layout_, frames_);
  promise();
  flush_to_disk(out_.get(), file_);
}

MendedWav mend_wav(const std::filesystem::path& file) {
  const Descriptor opened(::open(file.c_str(), O_RDWR | O_CLOEXEC));
  if (opened.get() < 0) throw system_error(file, "cannot be mended", errno);
  std::array<std::byte, header_bytes> header{};
  if (::pread(opened.get(), header.data(), header.size(), 0) != ssize_t{header_bytes})
    throw not_growing_wav(file);
  MendedWav mended{.layout = layout_in(header, file)};
  mended.promised = promised_in(header, mended.layout);
  const std::uint64_t there = size_of(opened.get(), file) - header_bytes;
  mended.frames =
      end_evenly(opened.get(), file, mended.layout, there / mended.layout.frame_bytes());
  flush_to_disk(opened.get(), file);
  overwrite(opened.get(), file, wav_header(mended.layout, mended.frames));
  flush_to_disk(opened.get(), file);
  return mended;
}

}  // namespace howl
