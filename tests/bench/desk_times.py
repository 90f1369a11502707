#!/usr/bin/env python3
"""How quick the window is: cmake --build … --target desk-times.

desk_times.py HOWLPOINT HOWLPOINT-DESK

Prints the time of our own code in a frame (without the drawing of it by OpenGL, which under Xvfb is
a software rasteriser's), from start to the first picture of a case of 12 points, and the memory. These are
measurements, not tests: a busy machine is slower.
"""

import os
import subprocess
import sys
import tempfile
from pathlib import Path

sys.dont_write_bytecode = True
sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "ui"))
from window_test import DESK, HOWLPOINT, Screen, write_an_hour, write_howl  # noqa: E402

POINTS = ["engine block front", "cylinder head", "alternator bracket", "idler bolt", "tensioner base",
          "water pump housing", "steering pump body", "a/c compressor body", "bell housing",
          "transmission pan", "differential housing", "left mount bracket"]
MOVES = "".join(f"wheel {2 if i % 4 else -5}\n" for i in range(60))


def call(folder, *words):
    subprocess.run([HOWLPOINT, *words], check=True, capture_output=True, cwd=folder)


def case_of_twelve(folder):
    case = Path(folder) / "twelve"
    call(folder, "new", case, "--profile", "transverse-four-automatic", "--title", "Twelve points")
    for number, point in enumerate(POINTS):
        file = Path(folder) / f"{number}.wav"
        write_howl(file, 1500, 1500, 0.2 / (1 + number), 4)
        call(folder, "add", case, file, "--point", point, "--rpm", "1500")
    return case


def case_of_an_hour(folder):
    """One take of an hour, beside a sweep."""
    case = Path(folder) / "hour"
    call(folder, "new", case, "--profile", "transverse-four-automatic", "--title", "An hour")
    write_an_hour(Path(folder) / "hour.wav")
    call(folder, "add", case, Path(folder) / "hour.wav", "--point", "transmission pan", "--rpm-ramp",
         "0:900,3600:3000")
    write_howl(Path(folder) / "sweep.wav", 900, 3000, 0.2, 20)
    call(folder, "add", case, Path(folder) / "sweep.wav", "--point", "transmission pan", "--rpm-ramp",
         "0:900,20:3000")
    return case


def tell(what, said):
    print(f"{what}: {said.strip().splitlines()[-1]}", flush=True)


def main():
    with tempfile.TemporaryDirectory() as folder, Screen() as screen:
        os.environ["XDG_CONFIG_HOME"] = folder
        case = case_of_twelve(folder)
        for _ in range(3):
            tell("12 points, from start to picture",
                 screen.run(f"open {case}\nuntil step where\ntell times\nquit\n", folder))
        tell("12 points, every step",
             screen.run(f"size 1920 1080\nopen {case}\nwait\ntell new-times\n" +
                        "".join(f"step {step}\nwait\n" for step in
                                "complaint points record listen pitch where what proof report".split()) +
                        "tell times\nquit\n", folder))
        case = case_of_an_hour(folder)
        opened = (f"size 1920 1080\nopen {case}\nuntil step where\nstep listen\ntake t01\n"
                  "until target job.cancel\nclick job.cancel\nuntil target sound.map\n")
        tell("an hour, its spectrogram zoomed and dragged",
             screen.run(opened + f"tell new-times\nhover sound.map 0.3 0.4\n{MOVES}"
                        "drag sound.map 0.3 0.4 0.7 0.6\ntell times\nquit\n", folder))
        tell("an hour, its order map zoomed and dragged",
             screen.run(opened + "plot orders\nuntil target sound.map.orders\ntell new-times\n"
                        f"hover sound.map 0.3 0.4\n{MOVES}drag sound.map 0.3 0.4 0.7 0.6\n"
                        "tell times\nquit\n", folder))
        tell("an hour open, the order map of a sweep zoomed and dragged",
             screen.run(opened + "take t02\nplot orders\nuntil target sound.map.orders\n"
                        f"tell new-times\nhover sound.map 0.3 0.4\n{MOVES}"
                        "drag sound.map 0.3 0.4 0.7 0.6\ntell times\nquit\n", folder))


if __name__ == "__main__":
    main()
