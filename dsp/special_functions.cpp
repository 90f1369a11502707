#include "dsp/special_functions.h"

namespace howl {

double bessel_i0(double x) {
  const double quarter_square = 0.25 * x * x;
  double term = 1.0;
  double sum = 1.0;
  for (double k = 1.0; term > 1e-17 * sum; ++k) {
    term *= quarter_square / (k * k);
    sum += term;
  }
  return sum;
}

}  // namespace howl
