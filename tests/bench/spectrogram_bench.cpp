// Time of a spectrogram through RealFft, against FFTW's single-precision real transform with a
// measured plan, in one thread. Both window the same frames and write the same powers.
#include <fftw3.h>

#include <algorithm>
#include <cmath>
#include <complex>
#include <cstdio>
#include <ctime>
#include <functional>
#include <memory>
#include <random>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "dsp/fft.h"
#include "dsp/spectrogram.h"
#include "dsp/window.h"

namespace {

constexpr double sample_rate = 48000.0;
constexpr double seconds = 120.0;
constexpr int rounds = 15;

struct Setting {
  std::size_t length;
  std::size_t hop;
};

/// The pace of memory counts as well, so results go to the same buffer in every contender.
struct Work {
  std::vector<float> signal;
  std::vector<float> window;
  std::size_t hop;
  std::size_t frames;
  std::vector<float> powers;
};

std::vector<float> noise(std::size_t samples) {
  std::mt19937_64 random(1);
  std::normal_distribution<float> normal(0.0F, 0.1F);
  std::vector<float> values(samples);
  std::generate(values.begin(), values.end(), [&] { return normal(random); });
  return values;
}

Work make_work(Setting setting) {
  const auto hann = howl::make_window(howl::WindowKind::hann, setting.length);
  Work work{noise(static_cast<std::size_t>(sample_rate * seconds)),
            {hann.begin(), hann.end()},
            setting.hop,
            0,
            {}};
  work.frames = (work.signal.size() - setting.length) / setting.hop + 1;
  work.powers.resize(work.frames * (setting.length / 2 + 1));
  return work;
}

class FftwSpectrogram {
 public:
  explicit FftwSpectrogram(std::size_t length)
      : in_(fftwf_alloc_real(length)),
        out_(fftwf_alloc_complex(length / 2 + 1)),
        plan_(fftwf_plan_dft_r2c_1d(static_cast<int>(length), in_, out_, FFTW_MEASURE)) {}
  ~FftwSpectrogram() {
    fftwf_destroy_plan(plan_);
    fftwf_free(in_);
    fftwf_free(out_);
  }
  FftwSpectrogram(const FftwSpectrogram&) = delete;
  FftwSpectrogram& operator=(const FftwSpectrogram&) = delete;

  void run(Work& work) const {
    const std::size_t length = work.window.size();
    const std::size_t bins = length / 2 + 1;
    for (std::size_t frame = 0; frame < work.frames; ++frame) {
      const float* from = work.signal.data() + frame * work.hop;
      for (std::size_t n = 0; n < length; ++n) in_[n] = from[n] * work.window[n];
      fftwf_execute(plan_);
      float* to = work.powers.data() + frame * bins;
      for (std::size_t k = 0; k < bins; ++k) {
        to[k] = out_[k][0] * out_[k][0] + out_[k][1] * out_[k][1];
      }
    }
  }

 private:
  float* in_;
  fftwf_complex* out_;
  fftwf_plan plan_;
};

/// Processor time, which other programs on the machine disturb less than the clock on the wall.
double seconds_of(const std::function<void()>& work) {
  const std::clock_t start = std::clock();
  work();
  return static_cast<double>(std::clock() - start) / CLOCKS_PER_SEC;
}

double median(std::vector<double> values) {
  std::sort(values.begin(), values.end());
  return values[values.size() / 2];
}

struct Contender {
  std::string name;
  std::function<void()> run;
  std::vector<double> times;
};

/// Every contender once a round, so that a slow moment of the machine meets them all; ratios are
/// taken within a round.
void race(std::vector<Contender>& contenders) {
  for (auto& contender : contenders) contender.run();
  for (int round = 0; round < rounds; ++round) {
    for (auto& contender : contenders) contender.times.push_back(seconds_of(contender.run));
  }
}

double median_ratio(const Contender& ours, const Contender& reference) {
  std::vector<double> ratios;
  for (std::size_t round = 0; round < ours.times.size(); ++round) {
    ratios.push_back(ours.times[round] / reference.times[round]);
  }
  return median(ratios);
}

/// The same through the class that programs use, a tenth of a second at a time.
void run_stream(Work& work) {
  auto to = work.powers.begin();
  const auto take = [&](std::size_t, std::span<const float> columns) {
    to = std::copy(columns.begin(), columns.end(), to);
  };
  howl::SpectrogramStream stream({howl::WindowKind::hann, work.window.size(), work.hop});
  constexpr std::size_t chunk = 4800;
  for (std::span<const float> rest = work.signal; !rest.empty();) {
    const auto taken = rest.first(std::min(chunk, rest.size()));
    stream.push(taken, take);
    rest = rest.subspan(taken.size());
  }
  stream.flush(take);
}

void bench(Setting setting) {
  Work work = make_work(setting);
  const FftwSpectrogram fftw(setting.length);
  std::vector<Contender> contenders{{"FFTW, measured plan", [&] { fftw.run(work); }, {}}};
  for (const auto path : howl::available_fft_paths()) {
    const auto fft = std::make_shared<howl::RealFft>(setting.length, path);
    contenders.push_back(
        {std::string(howl::fft_path_name(path)),
         [&work, fft] { fft->power(work.signal, work.hop, work.frames, work.window, work.powers); },
         {}});
  }
  contenders.push_back({"stream of chunks", [&] { run_stream(work); }, {}});
  race(contenders);

  std::printf("%.0f s at %.0f Hz, blocks of %zu, hop %zu, Hann, %zu frames, %d rounds\n", seconds,
              sample_rate, setting.length, setting.hop, work.frames, rounds);
  std::printf("  used by default: %s\n",
              std::string(howl::fft_path_name(howl::RealFft(setting.length).path())).c_str());
  for (const auto& contender : contenders) {
    std::printf("  %-20s median %.4f s  best %.4f s  ratio to FFTW %.2f\n", contender.name.c_str(),
                median(contender.times),
                *std::min_element(contender.times.begin(), contender.times.end()),
                median_ratio(contender, contenders.front()));
  }
}

/// Seconds for the default path, as the only figure: for against_scipy.py.
void print_once(Setting setting) {
  Work work = make_work(setting);
  howl::RealFft fft(setting.length);
  const auto run = [&] { fft.power(work.signal, work.hop, work.frames, work.window, work.powers); };
  run();
  std::vector<double> times;
  for (int round = 0; round < rounds; ++round) times.push_back(seconds_of(run));
  std::printf("%.6f\n", median(times));
}

}  // namespace

int main(int count, char** arguments) {
  constexpr Setting usual{4096, 1024};
  if (count == 2 && std::string_view(arguments[1]) == "--once") {
    print_once(usual);
    return 0;
  }
  for (const Setting setting : {usual, Setting{1024, 256}, Setting{8192, 2048},
                                Setting{16384, 4096}, Setting{65536, 16384}}) {
    bench(setting);
  }
}
