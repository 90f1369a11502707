#include "dsp/fft.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>
#include <stdexcept>
#include <utility>

#include "dsp/require.h"

namespace howl {
namespace {

struct Frames {
  const float* signal;
  std::size_t hop;
  std::size_t count;
};

class FftEngine {
 public:
  virtual ~FftEngine() = default;
  virtual void transform(const Frames& frames, const float* window, std::complex<float>* out) = 0;
  virtual void power(const Frames& frames, const float* window, float* out) = 0;
};

// KissFFT and the code around it are parsed once a path, so that each gets its own processor
// options.

namespace one_lane {
constexpr int lane_count = 1;
using Vector = float;
#include "dsp/fft_lanes.inc"
namespace kiss {
#include <kissfft/kissfft.hh>
}
using Engine = LaneEngine<kiss::kissfft<double>>;
}  // namespace one_lane

namespace four_lanes {
constexpr int lane_count = 4;
using Vector = float __attribute__((vector_size(lane_count * sizeof(float))));
#include "dsp/fft_lanes.inc"
namespace kiss {
#undef KISSFFT_CLASS_HH
#include <kissfft/kissfft.hh>
}  // namespace kiss
using Engine = LaneEngine<kiss::kissfft<double>>;
}  // namespace four_lanes

#if defined(__x86_64__)

#if defined(__clang__)
#pragma clang attribute push(__attribute__((target("avx2,fma"))), apply_to = function)
#else
#pragma GCC push_options
#pragma GCC target("avx2,fma")
#endif
namespace eight_lanes {
constexpr int lane_count = 8;
using Vector = float __attribute__((vector_size(lane_count * sizeof(float))));
#include "dsp/fft_lanes.inc"
namespace kiss {
#undef KISSFFT_CLASS_HH
#include <kissfft/kissfft.hh>
}  // namespace kiss
using Engine = LaneEngine<kiss::kissfft<double>>;
}  // namespace eight_lanes
#if defined(__clang__)
#pragma clang attribute pop
#pragma clang attribute push(__attribute__((target("avx512f"))), apply_to = function)
#else
#pragma GCC pop_options
#pragma GCC push_options
#pragma GCC target("avx512f")
#endif
namespace sixteen_lanes {
constexpr int lane_count = 16;
using Vector = float __attribute__((vector_size(lane_count * sizeof(float))));
#include "dsp/fft_lanes.inc"
namespace kiss {
#undef KISSFFT_CLASS_HH
#include <kissfft/kissfft.hh>
}  // namespace kiss
using Engine = LaneEngine<kiss::kissfft<double>>;
}  // namespace sixteen_lanes
#if defined(__clang__)
#pragma clang attribute pop
#else
#pragma GCC pop_options
#endif

#endif

std::unique_ptr<FftEngine> make_engine(FftPath path, std::size_t size) {
  switch (path) {
    case FftPath::scalar:
      return std::make_unique<one_lane::Engine>(size);
    case FftPath::lanes4:
      return std::make_unique<four_lanes::Engine>(size);
#if defined(__x86_64__)
    case FftPath::lanes8:
      return std::make_unique<eight_lanes::Engine>(size);
    case FftPath::lanes16:
      return std::make_unique<sixteen_lanes::Engine>(size);
#endif
    default:
      break;
  }
  throw std::invalid_argument("this processor cannot run that FFT path");
}

void check_fit(std::size_t size, std::span<const float> signal, const Frames& frames,
               std::span<const float> window, std::size_t out) {
  require(window.size() == size, "FFT: the window is not as long as the frame");
  require(out == frames.count * (size / 2 + 1), "FFT: the output does not hold the frames");
  if (frames.count == 0) return;
  require(signal.size() >= size &&
              (frames.count == 1 || frames.hop <= (signal.size() - size) / (frames.count - 1)),
          "FFT: the frames reach past the signal");
}

}  // namespace

struct RealFft::Plan {
  std::size_t size;
  FftPath path;
  std::unique_ptr<FftEngine> engine;
};

std::vector<FftPath> available_fft_paths() {
  std::vector<FftPath> paths{FftPath::scalar};
  paths.push_back(FftPath::lanes4);
#if defined(__x86_64__)
  if (__builtin_cpu_supports("avx2") && __builtin_cpu_supports("fma")) {
    paths.push_back(FftPath::lanes8);
  }
  if (__builtin_cpu_supports("avx512f")) paths.push_back(FftPath::lanes16);
#endif
  return paths;
}

std::string_view fft_path_name(FftPath path) {
  switch (path) {
    case FftPath::scalar:
      return "scalar";
    case FftPath::lanes4:
      return "4 lanes";
    case FftPath::lanes8:
      return "8 lanes (AVX2)";
    case FftPath::lanes16:
      return "16 lanes (AVX-512)";
  }
  return "unknown";
}

namespace {

/// Sixteen frames beyond 2048 samples, with their spectra, outgrow the usual second-level cache,
/// and eight at a time are faster (measured up to 65536).
FftPath suitable_path(std::size_t size) {
  const auto paths = available_fft_paths();
  const bool too_wide = paths.back() == FftPath::lanes16 && size > 2048;
  const bool has_eight = std::find(paths.begin(), paths.end(), FftPath::lanes8) != paths.end();
  return too_wide && has_eight ? FftPath::lanes8 : paths.back();
}

}  // namespace

RealFft::RealFft(std::size_t size) : RealFft(size, suitable_path(size)) {}

RealFft::RealFft(std::size_t size, FftPath path) {
  require(size >= 2 && size % 2 == 0, "FFT: the size must be even and at least 2");
  const auto paths = available_fft_paths();
  require(std::find(paths.begin(), paths.end(), path) != paths.end(),
          "FFT: this processor cannot run that path");
  plan_ = std::make_unique<Plan>(Plan{size, path, make_engine(path, size)});
}

RealFft::~RealFft() = default;
RealFft::RealFft(RealFft&&) noexcept = default;
RealFft& RealFft::operator=(RealFft&&) noexcept = default;

std::size_t RealFft::size() const { return plan_->size; }
std::size_t RealFft::bins() const { return plan_->size / 2 + 1; }
FftPath RealFft::path() const { return plan_->path; }

void RealFft::transform(std::span<const float> signal, std::size_t hop, std::size_t frames,
                        std::span<const float> window, std::span<std::complex<float>> out) {
  const Frames batch{signal.data(), hop, frames};
  check_fit(plan_->size, signal, batch, window, out.size());
  plan_->engine->transform(batch, window.data(), out.data());
}

void RealFft::power(std::span<const float> signal, std::size_t hop, std::size_t frames,
                    std::span<const float> window, std::span<float> out) {
  const Frames batch{signal.data(), hop, frames};
  check_fit(plan_->size, signal, batch, window, out.size());
  plan_->engine->power(batch, window.data(), out.data());
}

}  // namespace howl
