#include "dsp/order_filter.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <numbers>
#include <stdexcept>
#include <string>
#include <utility>

#include "dsp/hermitian_band.h"

namespace howl {

namespace {

using Complex = std::complex<double>;

/// Knots in 1/B. One pole falls off so slowly that its skirts ask for more.
constexpr double knots_per_inverse_width(int poles) { return poles == 1 ? 64.0 : 16.0; }
/// Bounds the memory of very narrow filters, which then have more knots than they need.
constexpr double kWidestSpacing = 65'536.0;
constexpr std::int64_t kPiece = 2048;
constexpr std::size_t kMostHeldBytes = 96'000'000;
constexpr std::size_t kMostCoefficients = 4;  // that touch one sample

[[noreturn]] void refuse(const std::string& why) {
  throw std::invalid_argument("order filter: " + why);
}

void require_weight_arguments(double width_over_rate, int poles) {
  if (!(width_over_rate > 0.0 && width_over_rate < 1.0))
    refuse("the width must lie above 0 and below the sample rate");
  if (poles < 1 || poles > 3) refuse("the number of poles is 1, 2 or 3");
}

/// (2 − 2cos x)^poles, without the loss of digits at small x.
double difference_gain(double x, int poles) {
  const double sine = 2.0 * std::sin(0.5 * x);
  return std::pow(sine * sine, poles);
}

/// Which envelopes are allowed between two knots: each is a weighted sum of a few coefficients in a
/// row.
///
/// Far below the rate: a uniform cubic B-spline (Eilers and Marx 1996), four coefficients. Else one
/// sample stands between two knots, is its own coefficient, and comes last of poles + 1, which its
/// difference takes in.
struct Basis {
  std::int64_t spacing{};      ///< samples from knot to knot
  std::size_t coefficients{};  ///< that one sample or one penalty takes in
  std::size_t before_start{};  ///< of these, how many come before the first sample's own
  int poles{};
  std::vector<std::array<double, kMostCoefficients>> weights;  ///< for each sample after a knot
  /// Σ|∇^p x|² over one spacing is cᵀ·penalty·c / spacing^(2p−1).
  std::array<std::array<double, kMostCoefficients>, kMostCoefficients> penalty{};
};

/// Cubic B-spline pieces as polynomials in u from 0 to 1: u⁰, u¹, u², u³.
constexpr std::array<std::array<double, 4>, 4> kSplinePieces{{
    {1.0 / 6.0, -0.5, 0.5, -1.0 / 6.0},
    {4.0 / 6.0, 0.0, -1.0, 0.5},
    {1.0 / 6.0, 0.5, 0.5, -0.5},
    {0.0, 0.0, 0.0, 1.0 / 6.0},
}};

double polynomial_derivative(const std::array<double, 4>& coefficients, int order, double u) {
  double sum = 0.0;
  for (int power = 3; power >= order; --power) {
    double factor = 1.0;
    for (int i = 0; i < order; ++i) factor *= power - i;
    sum = sum * u + factor * coefficients[static_cast<std::size_t>(power)];
  }
  return sum;
}

Basis spline_basis(std::int64_t spacing, int poles) {
  Basis basis{spacing, 4, 0, poles, {}, {}};
  basis.weights.resize(static_cast<std::size_t>(spacing));
  for (std::size_t i = 0; i < basis.weights.size(); ++i)
    for (std::size_t a = 0; a < 4; ++a)
      basis.weights[i][a] = polynomial_derivative(
          kSplinePieces[a], 0, static_cast<double>(i) / static_cast<double>(spacing));
  // Three points of Gauss and Legendre are exact up to the fifth power; the fourth occurs.
  const double outer = 0.5 * std::sqrt(0.6);
  for (const auto& [u, share] : {std::pair(0.5 - outer, 5.0 / 18.0), std::pair(0.5, 8.0 / 18.0),
                                 std::pair(0.5 + outer, 5.0 / 18.0)})
    for (std::size_t a = 0; a < 4; ++a)
      for (std::size_t b = 0; b < 4; ++b)
        basis.penalty[a][b] += share * polynomial_derivative(kSplinePieces[a], poles, u) *
                               polynomial_derivative(kSplinePieces[b], poles, u);
  return basis;
}

Basis sample_basis(int poles) {
  const auto last = static_cast<std::size_t>(poles);
  Basis basis{1, last + 1, last, poles, {}, {}};
  basis.weights.emplace_back();
  basis.weights.front()[last] = 1.0;
  constexpr std::array<std::array<double, 4>, 3> differences{
      {{-1.0, 1.0}, {1.0, -2.0, 1.0}, {-1.0, 3.0, -3.0, 1.0}}};
  const std::array<double, 4>& difference = differences[last - 1];
  for (std::size_t a = 0; a <= last; ++a)
    for (std::size_t b = 0; b <= last; ++b) basis.penalty[a][b] = difference[a] * difference[b];
  return basis;
}

Basis basis_for(double widest_over_rate, int poles) {
  const double spacing = std::floor(
      std::min(1.0 / (knots_per_inverse_width(poles) * widest_over_rate), kWidestSpacing));
  return spacing < 2.0 ? sample_basis(poles)
                       : spline_basis(static_cast<std::int64_t>(spacing), poles);
}

/// r² in steps of the knot spacing, such that the gain at the band edge is exactly −3 dB.
///
/// An envelope exp(jωn) comes back times |Φ|²/(G + r²S), where for the cubic B-spline Φ is its
/// transform, G that of its autocorrelation at the knots (Unser 1999), and S that of the penalty.
double squared_weight(const Basis& basis, double width_over_rate) {
  const double edge =
      std::numbers::pi * width_over_rate * static_cast<double>(basis.spacing);  // radians a knot
  if (basis.spacing == 1) {
    const double weight = vold_kalman_weight(width_over_rate, basis.poles);
    return weight * weight;
  }
  const double overlap = (2416.0 + 2382.0 * std::cos(edge) + 240.0 * std::cos(2.0 * edge) +
                          2.0 * std::cos(3.0 * edge)) /
                         5040.0;
  const double lower_overlap =
      basis.poles == 1   ? (66.0 + 52.0 * std::cos(edge) + 2.0 * std::cos(2.0 * edge)) / 120.0
      : basis.poles == 2 ? (4.0 + 2.0 * std::cos(edge)) / 6.0
                         : 1.0;
  const double sinc = std::sin(0.5 * edge) / (0.5 * edge);
  return (std::numbers::sqrt2 * std::pow(sinc, 8) - overlap) /
         (difference_gain(edge, basis.poles) * lower_overlap);
}

struct FrequencyRange {
  Hertz low;
  Hertz high;
};

FrequencyRange frequency_range(const FollowedTone& tone, Seconds length) {
  const SpeedCurve::Range speed = tone.angle->range(Seconds(0.0), length);
  return {frequency_of(tone.order, speed.low), frequency_of(tone.order, speed.high)};
}

/// Turns that one tone gains on another, or loses, all counted as gains.
double turns_against(const FollowedTone& a, const FollowedTone& b, Seconds length) {
  constexpr int steps = 1000;
  const auto lead = [&](double time) {
    return a.order.value * a.angle->revolutions_at(Seconds(time)) -
           b.order.value * b.angle->revolutions_at(Seconds(time));
  };
  double sum = 0.0;
  double before = lead(0.0);
  for (int i = 1; i <= steps; ++i) {
    const double now = lead(length.value * i / steps);
    sum += std::abs(now - before);
    before = now;
  }
  return sum;
}

void require_bands(const std::vector<FollowedTone>& tones, double rate, Seconds length,
                   const FilterWidth& width) {
  for (const FollowedTone& tone : tones) {
    if (!(tone.order.value > 0.0) || !std::isfinite(tone.order.value))
      refuse("an order must be above 0");
    const FrequencyRange range = frequency_range(tone, length);
    if (range.high.value + 0.5 * width.at(range.high).value > 0.5 * rate)
      refuse("a tone rises above half the sample rate");
    if (width.at(range.low) > range.low)
      refuse("the filter is wider than the frequency of its tone");
  }
}

void require_different(const std::vector<FollowedTone>& tones, Seconds length, int poles) {
  for (std::size_t k = 0; k < tones.size(); ++k)
    for (std::size_t l = 0; l < k; ++l)
      if (turns_against(tones[k], tones[l], length) < poles)
        refuse("two tones are so close that the signal is too short to tell them apart");
}

Hertz widest(const std::vector<FollowedTone>& tones, Seconds length, const FilterWidth& width) {
  Hertz most{};
  for (const FollowedTone& tone : tones)
    most = std::max(most, width.at(frequency_range(tone, length).high));
  return most;
}

/// Refuses weights at which rounding, eps·r²·q₀ with q₀ the middle coefficient of (2 − 2cos)^p,
/// could reach the ten-thousandth part of an envelope. (Where it reaches 1/2 the equations lose
/// their sense: r > √[1/(2·q₀·eps)].)
void require_condition(const std::vector<FollowedTone>& tones, double rate, Seconds length,
                       const FilterWidth& width, const Basis& basis) {
  constexpr double tolerated = 1e-4;
  constexpr std::array<double, 3> middle{2.0, 6.0, 20.0};
  const double most = tolerated / (middle[static_cast<std::size_t>(basis.poles) - 1] *
                                   std::numeric_limits<double>::epsilon());
  for (const FollowedTone& tone : tones) {
    const Hertz narrowest = width.at(frequency_range(tone, length).low);
    if (squared_weight(basis, narrowest.value / rate) > most)
      refuse("the narrowest filter is too narrow for double precision beside the widest");
  }
}

Basis checked_basis(const std::vector<FollowedTone>& tones, double rate, std::int64_t samples,
                    const OrderFilterParameters& parameters) {
  if (tones.empty()) refuse("there is nothing to follow");
  if (!(rate > 0.0) || samples < 1) refuse("there is no signal");
  const FilterWidth& width = parameters.width;
  if (!(width.least.value >= 0.0) || !(width.share >= 0.0) || !(width.at(Hertz(1.0)).value > 0.0))
    refuse("the width must be above 0");
  const Seconds length(static_cast<double>(samples) / rate);
  require_bands(tones, rate, length, width);
  require_different(tones, length, parameters.poles);
  const double widest_over_rate = widest(tones, length, width).value / rate;
  require_weight_arguments(widest_over_rate, parameters.poles);
  Basis basis = basis_for(widest_over_rate, parameters.poles);
  require_condition(tones, rate, length, width, basis);
  return basis;
}

/// exp(jΘ_k) of every tone over successive samples.
class Phasors {
 public:
  Phasors(const std::vector<FollowedTone>* tones, double rate) : tones_(tones), rate_(rate) {}

  void compute(std::int64_t first, std::size_t count) {
    const std::vector<FollowedTone>& tones = *tones_;
    values_.resize(tones.size());
    for (std::size_t k = 0; k < tones.size(); ++k) {
      if (k == 0 || tones[k].angle != tones[k - 1].angle)
        compute_revolutions(*tones[k].angle, first, count);
      values_[k].resize(count);
      for (std::size_t i = 0; i < count; ++i) {
        const double turns = tones[k].order.value * revolutions_[i];
        const double phase = 2.0 * std::numbers::pi * (turns - std::floor(turns));
        values_[k][i] = {std::cos(phase), std::sin(phase)};
      }
    }
  }
  const std::vector<Complex>& of(std::size_t tone) const { return values_[tone]; }

 private:
  void compute_revolutions(const SpeedCurve& angle, std::int64_t first, std::size_t count) {
    revolutions_.resize(count);
    for (std::size_t i = 0; i < count; ++i)
      revolutions_[i] = angle.revolutions_at(
          Seconds(static_cast<double>(first + static_cast<std::int64_t>(i)) / rate_));
  }

  const std::vector<FollowedTone>* tones_;
  double rate_;
  std::vector<double> revolutions_;
  std::vector<std::vector<Complex>> values_;
};

/// Adds up the normal equations of the samples between two knots, for the few coefficients that
/// touch them.
class KnotSums {
 public:
  KnotSums(std::size_t tones, std::size_t coefficients)
      : tones_(tones),
        coefficients_(coefficients),
        products_(tones * tones * coefficients * coefficients),
        right_(tones * coefficients) {}

  void clear() {
    std::ranges::fill(products_, Complex{});
    std::ranges::fill(right_, Complex{});
  }

  /// `weights` of a sample's coefficients, `phasors[i]` of all tones at it.
  void add(double sample, const std::array<double, kMostCoefficients>& weights,
           const Phasors& phasors, std::size_t i) {
    for (std::size_t k = 0; k < tones_; ++k) {
      const Complex back = std::conj(phasors.of(k)[i]);
      for (std::size_t a = 0; a < coefficients_; ++a)
        right_[k * coefficients_ + a] += sample * weights[a] * back;
      add_products(k, k, 1.0, weights);
      for (std::size_t l = k + 1; l < tones_; ++l) {
        const Complex forth = phasors.of(l)[i];
        add_products(k, l,
                     {back.real() * forth.real() - back.imag() * forth.imag(),
                      back.real() * forth.imag() + back.imag() * forth.real()},
                     weights);
      }
    }
  }

  Complex right(std::size_t tone, std::size_t a) const { return right_[tone * coefficients_ + a]; }

  /// Σ w_a·w_b·exp(j(Θ_l − Θ_k)).
  Complex products(std::size_t k, std::size_t a, std::size_t l, std::size_t b) const {
    if (k > l) return std::conj(products(l, b, k, a));
    return products_[place(k, l) + std::min(a, b) * coefficients_ + std::max(a, b)];
  }

 private:
  std::size_t place(std::size_t k, std::size_t l) const {
    return (k * tones_ + l) * coefficients_ * coefficients_;
  }
  void add_products(std::size_t k, std::size_t l, Complex turn,
                    const std::array<double, kMostCoefficients>& weights) {
    Complex* const sums = &products_[place(k, l)];
    for (std::size_t a = 0; a < coefficients_; ++a)
      for (std::size_t b = a; b < coefficients_; ++b)
        sums[a * coefficients_ + b] += (weights[a] * weights[b]) * turn;
  }

  std::size_t tones_;
  std::size_t coefficients_;
  std::vector<Complex> products_;
  std::vector<Complex> right_;
};

std::size_t off_diagonals(std::size_t tones, const Basis& basis) {
  return basis.coefficients * tones - 1;
}

/// Rows of the equations that further samples still add to: coefficient by coefficient, and of each
/// the tones.
class OpenRows {
 public:
  OpenRows(std::size_t tones, const Basis& basis)
      : tones_(tones),
        coefficients_(basis.coefficients),
        stride_(off_diagonals(tones, basis) + 1),
        rows_(tones * basis.coefficients * stride_),
        right_(tones * basis.coefficients) {}

  void add(const KnotSums& sums, double scale) {
    for_each_place([&](std::size_t a, std::size_t k, std::size_t b, std::size_t l, Complex& to) {
      to += scale * sums.products(k, a, l, b);
    });
    for (std::size_t a = 0; a < coefficients_; ++a)
      for (std::size_t k = 0; k < tones_; ++k) right_[a * tones_ + k] += scale * sums.right(k, a);
  }

  void add_penalty(const Basis& basis, std::span<const double> squared_weights) {
    for_each_place([&](std::size_t a, std::size_t k, std::size_t b, std::size_t l, Complex& to) {
      if (k == l) to += squared_weights[k] * basis.penalty[a][b];
    });
  }

  /// Gives away the rows of the first coefficient; the next one becomes the first.
  template <class Take>
  void shift(const Take& take) {
    for (std::size_t k = 0; k < tones_; ++k)
      take(std::span<const Complex>(rows_).subspan(k * stride_, stride_), right_[k]);
    const auto gone = static_cast<std::ptrdiff_t>(tones_);
    std::rotate(rows_.begin(), rows_.begin() + gone * static_cast<std::ptrdiff_t>(stride_),
                rows_.end());
    std::rotate(right_.begin(), right_.begin() + gone, right_.end());
    std::fill(rows_.end() - gone * static_cast<std::ptrdiff_t>(stride_), rows_.end(), Complex{});
    std::fill(right_.end() - gone, right_.end(), Complex{});
  }

 private:
  template <class Add>
  void for_each_place(const Add& add) {
    for (std::size_t a = 0; a < coefficients_; ++a)
      for (std::size_t k = 0; k < tones_; ++k)
        for (std::size_t b = a; b < coefficients_; ++b)
          for (std::size_t l = b == a ? k : 0; l < tones_; ++l) {
            const std::size_t row = a * tones_ + k;
            add(a, k, b, l, rows_[row * stride_ + b * tones_ + l - row]);
          }
  }

  std::size_t tones_;
  std::size_t coefficients_;
  std::size_t stride_;
  std::vector<Complex> rows_;
  std::vector<Complex> right_;
};

HermitianBandParameters solver_parameters(std::size_t tones, const Basis& basis) {
  HermitianBandParameters parameters;
  parameters.off_diagonals = off_diagonals(tones, basis);
  parameters.most_rows = kMostHeldBytes / (16 * (parameters.off_diagonals + 3));
  return parameters;
}

}  // namespace

FollowedTone fixed_pitch(Hertz frequency) {
  return {
      std::make_shared<const SpeedCurve>(SpeedCurve::constant(Rpm(60.0 * frequency.value), 0.0)),
      Order(1.0)};
}

Hertz FilterWidth::at(Hertz frequency) const { return std::max(least, share * frequency); }

double vold_kalman_weight(double width_over_rate, int poles) {
  require_weight_arguments(width_over_rate, poles);
  return std::sqrt((std::numbers::sqrt2 - 1.0) /
                   difference_gain(std::numbers::pi * width_over_rate, poles));
}

double vold_kalman_gain(double offset_over_rate, double width_over_rate, int poles) {
  const double weight = vold_kalman_weight(width_over_rate, poles);
  return 1.0 / (1.0 + weight * weight *
                          difference_gain(2.0 * std::numbers::pi * offset_over_rate, poles));
}

struct OrderFilter::State {
  std::vector<FollowedTone> tones;
  double rate;
  std::int64_t length;
  FilterWidth width;
  std::function<void(const FilteredPiece&)> take_piece;
  Basis basis;

  Phasors phasors;
  KnotSums sums;
  OpenRows open;
  HermitianBandSolver solver;
  std::int64_t received = 0;
  std::vector<Complex> coefficients;  // settled, from the first that the next output needs
  std::int64_t produced = 0;
  std::vector<FilteredTone> piece;
  std::vector<double> squared_weights;

  State(std::vector<FollowedTone> followed, double sample_rate, std::int64_t samples,
        const OrderFilterParameters& parameters, std::function<void(const FilteredPiece&)> take)
      : tones(std::move(followed)),
        rate(sample_rate),
        length(samples),
        width(parameters.width),
        take_piece(std::move(take)),
        basis(checked_basis(tones, rate, length, parameters)),
        phasors(&tones, rate),
        sums(tones.size(), basis.coefficients),
        open(tones.size(), basis),
        solver(solver_parameters(tones.size(), basis)),
        coefficients(basis.before_start * tones.size()),
        piece(tones.size()),
        squared_weights(tones.size()) {}

  /// Knots passed before sample `received`, and samples since the last.
  std::int64_t knot() const { return received / basis.spacing; }
  std::int64_t after_knot() const { return received % basis.spacing; }

  void push(std::span<const float> samples) {
    if (static_cast<std::int64_t>(samples.size()) > length - received)
      refuse("there are more samples than were announced");
    while (!samples.empty()) {
      const auto room = static_cast<std::size_t>(std::min(kPiece, basis.spacing - after_knot()));
      const std::span<const float> now = samples.first(std::min(room, samples.size()));
      add(now);
      samples = samples.subspan(now.size());
      if (after_knot() == 0) close_knot(knot() - 1);
    }
  }

  void add(std::span<const float> samples) {
    phasors.compute(received, samples.size());
    const auto start = static_cast<std::size_t>(after_knot());
    for (std::size_t i = 0; i < samples.size(); ++i)
      sums.add(static_cast<double>(samples[i]), basis.weights[start + i], phasors, i);
    received += static_cast<std::int64_t>(samples.size());
  }

  void close_knot(std::int64_t index) {
    open.add(sums, 1.0 / static_cast<double>(basis.spacing));
    sums.clear();
    const auto missing = static_cast<std::int64_t>(basis.before_start);
    if (index >= missing) add_penalty(index);
    shift(index >= missing);
    produce();
  }

  void add_penalty(std::int64_t index) {
    const Seconds middle((static_cast<double>(index) + 0.5) * static_cast<double>(basis.spacing) /
                         rate);
    for (std::size_t k = 0; k < tones.size(); ++k)
      squared_weights[k] =
          squared_weight(basis, width.at(tones[k].frequency_at(middle)).value / rate);
    open.add_penalty(basis, squared_weights);
  }

  void shift(bool into_solver) {
    open.shift([&](std::span<const Complex> row, Complex right) {
      if (into_solver) solver.push(row, right, coefficients);
    });
  }

  void finish() {
    if (after_knot() > 0) close_knot(knot());
    const auto knots = static_cast<std::size_t>((received + basis.spacing - 1) / basis.spacing);
    if (knots == 0) return;
    for (std::size_t a = 1; a < basis.coefficients; ++a) shift(knots + a > basis.before_start);
    solver.finish(coefficients);
    produce();
  }

  /// Writes out all samples whose coefficients are known.
  void produce() {
    const std::size_t all = tones.size();
    std::size_t used = 0;
    while (coefficients.size() >= used + basis.coefficients * all && produced < received) {
      produce_between_knots(&coefficients[used]);
      used += all;
    }
    if (used == 0) return;
    coefficients.erase(coefficients.begin(),
                       coefficients.begin() + static_cast<std::ptrdiff_t>(used));
    give_away();
  }

  void produce_between_knots(const Complex* first) {
    const std::int64_t end = std::min(produced + basis.spacing, received);
    const std::int64_t start = produced;
    while (produced < end) {
      const auto held = static_cast<std::int64_t>(piece.front().waveform.size());
      const auto count = static_cast<std::size_t>(std::min(kPiece - held, end - produced));
      evaluate(first, static_cast<std::size_t>(produced - start), count);
      if (held + static_cast<std::int64_t>(count) == kPiece) give_away();
    }
  }

  void evaluate(const Complex* first, std::size_t offset, std::size_t count) {
    phasors.compute(produced, count);
    for (std::size_t k = 0; k < tones.size(); ++k)
      for (std::size_t i = 0; i < count; ++i) {
        Complex sum{};
        for (std::size_t a = 0; a < basis.coefficients; ++a)
          sum += basis.weights[offset + i][a] * first[a * tones.size() + k];
        const Complex envelope = 2.0 * sum;
        const Complex turn = phasors.of(k)[i];
        piece[k].envelope.push_back(envelope);
        piece[k].waveform.push_back(
            static_cast<float>(envelope.real() * turn.real() - envelope.imag() * turn.imag()));
      }
    produced += static_cast<std::int64_t>(count);
  }

  void give_away() {
    const auto held = static_cast<std::int64_t>(piece.front().waveform.size());
    if (held == 0) return;
    take_piece({produced - held, piece});
    for (FilteredTone& tone : piece) {
      tone.envelope.clear();
      tone.waveform.clear();
    }
  }
};

OrderFilter::OrderFilter(std::vector<FollowedTone> tones, double sample_rate, std::int64_t samples,
                         const OrderFilterParameters& parameters,
                         std::function<void(const FilteredPiece&)> take_piece)
    : state_(std::make_unique<State>(std::move(tones), sample_rate, samples, parameters,
                                     std::move(take_piece))) {}
OrderFilter::~OrderFilter() = default;
OrderFilter::OrderFilter(OrderFilter&&) noexcept = default;
OrderFilter& OrderFilter::operator=(OrderFilter&&) noexcept = default;

void OrderFilter::push(std::span<const float> samples) { state_->push(samples); }
void OrderFilter::finish() { state_->finish(); }
std::int64_t OrderFilter::samples_between_knots() const { return state_->basis.spacing; }

std::vector<FilteredTone> filter_orders(std::span<const float> samples, double sample_rate,
                                        std::vector<FollowedTone> tones,
                                        const OrderFilterParameters& parameters) {
  std::vector<FilteredTone> whole(tones.size());
  OrderFilter filter(std::move(tones), sample_rate, static_cast<std::int64_t>(samples.size()),
                     parameters, [&](const FilteredPiece& piece) {
                       for (std::size_t k = 0; k < whole.size(); ++k) {
                         const FilteredTone& part = piece.tones[k];
                         whole[k].envelope.insert(whole[k].envelope.end(), part.envelope.begin(),
                                                  part.envelope.end());
                         whole[k].waveform.insert(whole[k].waveform.end(), part.waveform.begin(),
                                                  part.waveform.end());
                       }
                     });
  filter.push(samples);
  filter.finish();
  return whole;
}

}  // namespace howl
