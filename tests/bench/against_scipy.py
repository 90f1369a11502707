"""Times scipy.signal.spectrogram beside ours: 120 s at 48 kHz, blocks of 4096, hop 1024, Hann.

usage: against_scipy.py SPECTROGRAM_BENCH

They take turns; a ratio is that of the medians of their processor times. One thread each. SciPy
works in the precision of the samples that it gets, so it is timed with both, and both with its
default (taking the mean off every block) and without.
"""

import os

for variable in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[variable] = "1"

import statistics
import subprocess
import sys
import time

import numpy
import scipy.signal

ROUNDS = 7


def ours(program):
    done = subprocess.run([program, "--once"], check=True, capture_output=True, text=True)
    return float(done.stdout)


def theirs(signal, detrend):
    start = time.process_time()
    scipy.signal.spectrogram(
        signal, fs=48000, window="hann", nperseg=4096, noverlap=3072, detrend=detrend
    )
    return time.process_time() - start


def main():
    program = sys.argv[1]
    samples = numpy.random.default_rng(1).normal(0, 0.1, 120 * 48000)
    contenders = {
        f"{precision}, {name}": (samples.astype(precision), detrend)
        for precision in ("float64", "float32")
        for name, detrend in (("default", "constant"), ("no detrending", False))
    }
    times = {name: [] for name in contenders}
    our_times = []
    for _ in range(ROUNDS):
        our_times.append(ours(program))
        for name, contender in contenders.items():
            times[name].append(theirs(*contender))
    our_median = statistics.median(our_times)
    print(f"ours {our_median:.4f} s")
    for name, measured in times.items():
        median = statistics.median(measured)
        print(f"  scipy.signal.spectrogram, {name:<22} {median:.3f} s, {median / our_median:.1f} x ours")


if __name__ == "__main__":
    main()
