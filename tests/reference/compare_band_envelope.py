"""Compares our band envelope and spectral kurtosis with what SciPy makes of the same signal.

usage: compare_band_envelope.py WRITE_BAND_ENVELOPE FOLDER

The envelope: a Kaiser band pass as long as SciPy asks for, within two samples, then the Hilbert transform of all of it
at once. The kurtosis: short-time Fourier transforms of the twice differenced signal.
"""

import csv
import pathlib
import subprocess
import sys

import numpy
import scipy.signal

OF_LARGEST = 2e-5  # of the envelope: ripple of 1e-5 in band and beside it, single precision
OF_KURTOSIS = 1e-4


def scipy_envelope(signal, setting):
    rate, low, high = (float(setting[key]) for key in ("sample_rate_hz", "low_hz", "high_hz"))
    taps, beta = scipy.signal.kaiserord(100.0, 0.3 * (high - low) / (0.5 * rate))
    ours = 2 * round(float(setting["settling_s"]) * rate) + 1
    if abs(ours - taps) > 2:
        sys.exit(f"a filter of {ours} taps, expected about {taps}")
    band_pass = scipy.signal.firwin(
        ours, [low, high], window=("kaiser", beta), pass_zero=False, fs=rate, scale=False
    )
    # With its ends faded out by the filter, or the circle's seam would be heard in the transform.
    filtered = scipy.signal.fftconvolve(signal, band_pass, mode="full")
    half = len(band_pass) // 2
    return numpy.abs(scipy.signal.hilbert(filtered))[half : half + len(signal)]


def envelope_difference(folder, signal, setting):
    rate, envelope_rate = float(setting["sample_rate_hz"]), float(setting["envelope_rate_hz"])
    ours = numpy.fromfile(folder / "envelope.f64")
    theirs = scipy_envelope(signal, setting)[:: round(rate / envelope_rate)]
    if ours.shape != theirs.shape:
        sys.exit(f"envelope of {ours.shape}, expected {theirs.shape}")
    edge = int(2.0 * float(setting["settling_s"]) * envelope_rate) + 1
    return numpy.abs(ours - theirs)[edge:-edge].max() / theirs.max()


def scipy_kurtosis(signal, rate, length, stretch_seconds):
    differenced = numpy.diff(signal, n=2, prepend=[0.0, 0.0])
    _, _, lines = scipy.signal.stft(
        differenced, window="hann", nperseg=length, noverlap=length // 2, boundary=None,
        padded=False,
    )
    power = numpy.abs(lines) ** 2
    stretch = max(32, int(stretch_seconds * rate / (length // 2)))
    total, blocks = numpy.zeros(power.shape[0]), 0
    for start in range(0, power.shape[1], stretch):
        part = power[:, start : start + stretch]
        count = part.shape[1]
        if count < 4:
            continue
        ratio = (part**2).mean(axis=1) / part.mean(axis=1) ** 2
        total += count * ((count + 1) / (count - 1) * (ratio - 1) - 1)
        blocks += count
    return total / blocks


def kurtosis_difference(folder, signal, setting, length):
    ours = numpy.fromfile(folder / f"kurtosis_{length}.f64")
    theirs = scipy_kurtosis(
        signal, float(setting["sample_rate_hz"]), length, float(setting["stretch_s"])
    )
    if ours.shape != theirs.shape:
        sys.exit(f"kurtosis of {ours.shape}, expected {theirs.shape}")
    return numpy.abs(ours - theirs)[2:-2].max()


def main():
    write_band_envelope, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    subprocess.run([write_band_envelope, folder], check=True)
    signal = numpy.fromfile(folder / "signal.f32", dtype=numpy.float32).astype(float)
    with open(folder / "settings.csv", encoding="utf-8", newline="") as table:
        setting = next(csv.DictReader(table))
    envelope = envelope_difference(folder, signal, setting)
    print(f"envelope: {envelope:.1e} of the largest, tolerance {OF_LARGEST:.0e}")
    lengths = [int(length) for length in setting["lengths"].split()]
    kurtosis = [kurtosis_difference(folder, signal, setting, length) for length in lengths]
    for length, difference in zip(lengths, kurtosis):
        print(f"kurtosis, blocks of {length}: {difference:.1e}, tolerance {OF_KURTOSIS:.0e}")
    if envelope > OF_LARGEST or not kurtosis or max(kurtosis) > OF_KURTOSIS:
        sys.exit("an envelope or a kurtosis differs from SciPy's by more than the tolerance")


if __name__ == "__main__":
    main()
