"""Compares our spectra, spectrograms, cross spectra and coherences with scipy.signal's, in double precision.

usage: compare_spectra.py WRITE_SPECTRA FOLDER

Runs WRITE_SPECTRA into FOLDER and fails where a line differs by more than the tolerances below.
Ours transform single-precision samples in single precision, which bounds what can be asked for.
"""

import csv
import pathlib
import subprocess
import sys

import numpy
import scipy.signal

# Difference of powers, re the largest power of the spectrum (or of the column).
OF_LARGEST = 2e-6
# Difference of levels, for lines within 80 dB of the largest.
DECIBELS = 0.05
DECIBELS_WITHIN = 80.0
SECONDS = 1e-9
# Difference of cross spectra, re the largest line; of coherences, on lines within 60 dB of the
# largest of either channel (below, single precision leaves too little of either).
CROSS_OF_LARGEST = 2e-6
COHERENCE = 1e-4
COHERENCE_WITHIN = 60.0

SCIPY_WINDOWS = {
    "rectangular": "boxcar",
    "hann": "hann",
    "hamming": "hamming",
    "blackman-harris": "blackmanharris",
    "nuttall4c": "nuttall",
    "flat-top5": "flattop",
}


def differences(ours, theirs):
    """Largest difference re the largest power, and in dB; lines along the last axis."""
    if ours.shape != theirs.shape:
        sys.exit(f"shape {ours.shape}, expected {theirs.shape}")
    largest = theirs.max(axis=-1, keepdims=True)
    of_largest = numpy.abs(ours - theirs) / largest
    strong = theirs > largest * 10 ** (-DECIBELS_WITHIN / 10)
    decibels = numpy.abs(10 * numpy.log10(ours[strong] / theirs[strong]))
    return of_largest.max(), decibels.max()


def compare(folder, row, setting, signal):
    """Prints the largest differences of one setting; True where they are within tolerance."""
    length, hop, rate = (
        int(setting["length"]),
        int(setting["hop"]),
        float(setting["sample_rate_hz"]),
    )
    options = {
        "fs": rate,
        "window": SCIPY_WINDOWS[setting["window"]],
        "nperseg": length,
        "noverlap": length - hop,
        "detrend": False,
        "scaling": "spectrum",
    }
    _, welch = scipy.signal.welch(signal, **options)
    _, times, columns = scipy.signal.spectrogram(signal, mode="psd", **options)
    ours_welch = numpy.fromfile(folder / f"welch_{row}.f64")
    ours_columns = numpy.fromfile(folder / f"spectrogram_{row}.f32", dtype=numpy.float32)
    ours_columns = ours_columns.reshape(-1, length // 2 + 1).astype(float)
    ours_times = float(setting["first_time_s"]) + float(setting["time_step_s"]) * numpy.arange(
        len(times)
    )

    welch_of_largest, welch_decibels = differences(ours_welch, welch)
    column_of_largest, column_decibels = differences(ours_columns, columns.T)
    seconds = numpy.abs(ours_times - times).max()
    print(
        f"{setting['window']:>16} {length:5}/{hop:<5}"
        f" spectrum {welch_of_largest:.1e} of the largest, {welch_decibels:.1e} dB;"
        f" spectrogram {column_of_largest:.1e}, {column_decibels:.1e} dB; times {seconds:.0e} s"
    )
    return (
        max(welch_of_largest, column_of_largest) <= OF_LARGEST
        and max(welch_decibels, column_decibels) <= DECIBELS
        and seconds <= SECONDS
    )


def compare_channels(folder, row, setting, signal, second):
    """The same of both channels together."""
    length, hop = int(setting["length"]), int(setting["hop"])
    options = {
        "fs": float(setting["sample_rate_hz"]),
        "window": SCIPY_WINDOWS[setting["window"]],
        "nperseg": length,
        "noverlap": length - hop,
        "detrend": False,
    }
    _, cross = scipy.signal.csd(signal, second, scaling="spectrum", **options)
    _, coherence = scipy.signal.coherence(signal, second, **options)
    _, first_power = scipy.signal.welch(signal, **options)
    _, second_power = scipy.signal.welch(second, **options)
    ours_cross = numpy.fromfile(folder / f"cross_{row}.f64", dtype=complex)
    ours_coherence = numpy.fromfile(folder / f"coherence_{row}.f64")
    if ours_cross.shape != cross.shape or ours_coherence.shape != coherence.shape:
        sys.exit(f"shape {ours_cross.shape}, expected {cross.shape}")
    of_largest = numpy.abs(ours_cross - cross).max() / numpy.abs(cross).max()
    share = 10 ** (-COHERENCE_WITHIN / 10)
    strong = (first_power > share * first_power.max()) & (second_power > share * second_power.max())
    apart = numpy.abs(ours_coherence - coherence)[strong].max()
    print(
        f"{setting['window']:>16} {length:5}/{hop:<5} cross spectrum {of_largest:.1e} of the"
        f" largest, coherence {apart:.1e} on {strong.sum()} lines"
    )
    return of_largest <= CROSS_OF_LARGEST and apart <= COHERENCE


def main():
    write_spectra, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    subprocess.run([write_spectra, folder], check=True)
    signal = numpy.fromfile(folder / "signal.f32", dtype=numpy.float32).astype(float)
    with open(folder / "settings.csv", encoding="utf-8", newline="") as table:
        settings = list(csv.DictReader(table))
    second = numpy.fromfile(folder / "second.f32", dtype=numpy.float32).astype(float)
    results = [compare(folder, row, setting, signal) for row, setting in enumerate(settings)]
    results += [
        compare_channels(folder, row, setting, signal, second)
        for row, setting in enumerate(settings)
    ]
    print(
        f"tolerance: {OF_LARGEST:.0e} of the largest;"
        f" {DECIBELS} dB for lines within {DECIBELS_WITHIN:.0f} dB of it"
    )
    if not results or not all(results):
        sys.exit("a spectrum differs from SciPy's by more than the tolerance")


if __name__ == "__main__":
    main()
