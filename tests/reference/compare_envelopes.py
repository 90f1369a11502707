"""Compares our Vold-Kalman envelopes with the published equations, solved by scipy.sparse.

usage: compare_envelopes.py WRITE_ENVELOPES FOLDER

Runs WRITE_ENVELOPES into FOLDER, writes the second-generation equations (r²AᴴA + CᴴC)x = Cᴴy for
every sample and every tone jointly (Vold and Leuridan 1993, SAE 931288; Tůma 2005, ICSV12), solves
them, and fails where an envelope 2x differs by more than the tolerances below, re the largest
envelope. Solved sample by sample, ours are the same equations. Solved by splines, they are the same
in the limit of dense knots only.
"""

import csv
import pathlib
import subprocess
import sys

import numpy
import scipy.sparse
import scipy.sparse.linalg

SAMPLE_BY_SAMPLE = 1e-6
# Poles -> largest difference. Three poles at these knots round the skirts a little.
BY_SPLINES = {1: 2e-3, 2: 1e-5, 3: 2e-3}


def weight(width_over_rate, poles):
    turn = numpy.pi * width_over_rate
    return numpy.sqrt((numpy.sqrt(2) - 1) / (2 - 2 * numpy.cos(turn)) ** poles)


def difference_matrix(samples, poles):
    matrix = scipy.sparse.identity(samples, format="csr")
    for _ in range(poles):
        matrix = matrix[1:] - matrix[:-1]
    return matrix


def envelopes(signal, turns, width_over_rate, poles):
    tones, samples = turns.shape
    differences = difference_matrix(samples, poles)
    smooth = weight(width_over_rate, poles) ** 2 * (differences.T @ differences)
    phasors = numpy.exp(2j * numpy.pi * turns)
    observe = scipy.sparse.hstack([scipy.sparse.diags(p) for p in phasors], format="csr")
    system = scipy.sparse.block_diag([smooth] * tones) + observe.conj().T @ observe
    # Sample by sample, so that the band is narrow.
    order = numpy.arange(tones * samples).reshape(tones, samples).T.ravel()
    system = system.tocsr()[order][:, order].tocsc()
    right = (observe.conj().T @ signal)[order]
    solution = scipy.sparse.linalg.spsolve(system, right, permc_spec="NATURAL")
    return 2 * solution.reshape(samples, tones).T


def compare(folder, row, setting):
    """Prints the differences of one setting; True where they are within tolerance."""
    rate, width = float(setting["sample_rate_hz"]), float(setting["width_hz"])
    poles, spacing = int(setting["poles"]), int(setting["samples_between_knots"])
    signal = numpy.fromfile(folder / f"signal_{row}.f32", dtype=numpy.float32).astype(float)
    turns = numpy.fromfile(folder / f"turns_{row}.f64").reshape(-1, len(signal))
    ours = numpy.fromfile(folder / f"envelope_{row}.c128", dtype=complex).reshape(turns.shape)
    theirs = envelopes(signal, turns, width / rate, poles)
    largest = (numpy.abs(ours - theirs) / numpy.abs(theirs).max()).max()
    tolerance = SAMPLE_BY_SAMPLE if spacing == 1 else BY_SPLINES[poles]
    print(
        f"{poles} poles, {width:g} Hz at {rate:g} Hz, knots every {spacing}: largest difference"
        f" {largest:.1e} of the largest envelope, tolerance {tolerance:.0e}"
    )
    return largest <= tolerance


def main():
    write_envelopes, folder = sys.argv[1], pathlib.Path(sys.argv[2])
    subprocess.run([write_envelopes, folder], check=True)
    with open(folder / "settings.csv", encoding="utf-8", newline="") as table:
        settings = list(csv.DictReader(table))
    results = [compare(folder, row, setting) for row, setting in enumerate(settings)]
    spacings = {int(setting["samples_between_knots"]) > 1 for setting in settings}
    if len(spacings) < 2:
        sys.exit("both ways of solving must be compared")
    if not all(results):
        sys.exit("an envelope differs from the published equations' by more than the tolerance")


if __name__ == "__main__":
    main()
