"""Memory that a long take in two channels needs, from adding it to the report.

usage: long_take.py HOWLPOINT MINUTES MEGABYTES [sweep|hold]

Makes a case of one take of MINUTES at 48 kHz, a slow sweep (and another that is a hold), with a reference
in the second channel; adds it, analyses it, and makes a report. Fails where a step held more than
MEGABYTES at its peak, as the system counted it (ru_maxrss, which begins at this script's own 40 MB or so),
or where the analysis found no tone: that would be memory saved by doing nothing.
"""

import json
import os
import subprocess
import sys
import tempfile
import time
import wave
from pathlib import Path

import numpy as np

RATE = 48000
SPEEDS = {"sweep": (900.0, 3000.0), "hold": (1800.0, 1800.0)}  # rpm at the beginning and end
ORDER = 11.0


def write_take(file, seconds, speeds):
    """Order 11, firing and noise, a second at a time; the reference hears the same, weaker."""
    first, last = (rpm / 60 for rpm in speeds)
    random = np.random.default_rng(1)
    time_in_second = np.arange(RATE) / RATE
    with wave.open(str(file), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(RATE)
        for second in range(seconds):
            t = second + time_in_second
            turns = first * t + (last - first) / 2 / seconds * t * t
            tone = 0.1 * np.sin(2 * np.pi * np.mod(ORDER * turns, 1.0))
            for firing in (2.0, 4.0, 6.0):
                tone += 0.1 / firing * np.sin(2 * np.pi * np.mod(firing * turns, 1.0))
            noise = 0.003 * random.standard_normal((2, RATE))
            channels = np.stack([tone + noise[0], 0.3 * tone + noise[1]], axis=1)
            out.writeframes((channels * 32767).astype("<i2").tobytes())


def run(folder, howlpoint, *words):
    """Runs the program; returns what it printed, its peak of memory in MB, and seconds."""
    begun = time.monotonic()
    with open(folder / "out", "w+") as out, open(folder / "err", "w+") as err:
        child = subprocess.Popen([howlpoint, *map(str, words)], stdout=out, stderr=err, cwd=folder)
        _, status, usage = os.wait4(child.pid, 0)
        child.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0)
        err.seek(0)
        if child.returncode != 0:
            sys.exit(f"{words[0]}: exit {child.returncode}\n{err.read()}")
        return out.read(), usage.ru_maxrss / 1024, time.monotonic() - begun


def speed_options(seconds, speeds):
    if speeds[0] == speeds[1]:
        return ["--rpm", f"{speeds[0]:g}"]
    return ["--rpm-ramp", f"0:{speeds[0]:g},{seconds}:{speeds[1]:g}"]


def measure(howlpoint, seconds, kind):
    """Peak memory in MB of each step with a take of that length."""
    peaks = {}
    speeds = SPEEDS[kind]
    with tempfile.TemporaryDirectory() as scratch:
        folder = Path(scratch)
        write_take(folder / "long.wav", seconds, speeds)
        run(folder, howlpoint, "new", "case", "--profile", "transverse-four-automatic", "--title", "Long")
        steps = {
            "add": ["add", "case", "long.wav", "--point", "transmission pan",
                    "--reference-channel", "2", *speed_options(seconds, speeds)],
            "analyse": ["analyse", "case", "--json"],
            "report": ["report", "case", "--out", "report.pdf"],
        }
        for step, words in steps.items():
            said, peaks[step], took = run(folder, howlpoint, *words)
            print(f"{kind} of {seconds / 60:g} minutes, {step}: {peaks[step]:.0f} MB at most, {took:.0f} s",
                  flush=True)
            if step == "analyse" and not json.loads(said)["tones"]:
                sys.exit("the analysis found no tone")
    return peaks


def main():
    howlpoint, minutes, limit = Path(sys.argv[1]).resolve(), float(sys.argv[2]), float(sys.argv[3])
    for kind in sys.argv[4:] or SPEEDS:
        peaks = measure(howlpoint, round(60 * minutes), kind)
        if max(peaks.values()) > limit:
            sys.exit(f"more than {limit:g} MB")


if __name__ == "__main__":
    main()
