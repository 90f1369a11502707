#!/usr/bin/env python3
"""Records for real, through PortAudio from a private sound server, and looks at what comes of it.

record_test.py PROGRAM TEST [NUMBER]    TEST is the name of one of the functions below
"""

import json
import random
import re
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy

sys.dont_write_bytecode = True
from sound_server import RATE, SoundServer, read_wav24, write_wav24  # noqa: E402

FULL_SCALE = 1 << 23
POINT = "transmission pan"
PROFILE = "transverse-four-automatic"
HEADER_BYTES = 92


class Workshop:
    """A case and a sound server."""

    def __init__(self, program, server, folder):
        self.program, self.server, self.folder = program, server, Path(folder)
        self.case = self.folder / "whine"
        self.howlpoint("new", self.case, "--profile", PROFILE)

    def command(self, *words):
        return [self.program, *map(str, words)]

    def howlpoint(self, *words, expect=0, **options):
        done = subprocess.run(self.command(*words), env=self.server.environment, text=True,
                              capture_output=True, timeout=120, stdin=subprocess.DEVNULL, **options)
        if done.returncode != expect:
            raise AssertionError(f"{words}: exit {done.returncode}, not {expect}\n"
                                 f"{done.stdout}{done.stderr}")
        return done

    def begin_recording(self, *words, case=None):
        return subprocess.Popen(
            self.command("record", case or self.case, "--point", POINT, "--rpm", "1800", *words),
            env=self.server.environment, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE)

    def takes(self, case=None):
        return json.loads(((case or self.case) / "case.json").read_text())["takes"]

    def recording(self, take):
        return self.case / take["recording"]


def require(condition, what):
    if not condition:
        raise AssertionError(what)


def howl(seconds, seed=1):
    """Engine orders, a howl of order 10 and noise, as 24-bit whole numbers."""
    source = numpy.random.default_rng(seed)
    time_axis = numpy.arange(int(seconds * RATE)) / RATE
    sound = source.normal(0, 0.01, time_axis.size)
    for order, amplitude in ((2, 0.1), (4, 0.05), (10, 0.15)):
        sound += amplitude * numpy.sin(2 * numpy.pi * order * 30 * time_axis)
    return numpy.rint(sound * FULL_SCALE).astype(numpy.int32)


def place_of(part, whole):
    """Where `part` begins in `whole`: by their cross-correlation."""
    size = 1 << (whole.size + part.size).bit_length()
    spectrum = numpy.fft.rfft(whole, size) * numpy.conj(numpy.fft.rfft(part, size))
    return int(numpy.argmax(numpy.fft.irfft(spectrum, size)[:whole.size]))


def wait_for_sound(workshop, bytes_wanted=200_000, case=None):
    """Until the recording has begun; returns its file."""
    folder = (case or workshop.case) / "unfinished"
    for _ in range(1000):
        for file in folder.glob("*.wav"):
            if file.stat().st_size > bytes_wanted:
                return file
        time.sleep(0.02)
    raise AssertionError("the recording does not begin")


def devices(workshop):
    """The devices are listed, and one of them is what is recorded from."""
    text = workshop.howlpoint("devices").stdout
    require(re.search(r"^ +\d+ +default +ALSA .* recording", text, re.MULTILINE), text)
    done = workshop.howlpoint("record", workshop.case, "--point", POINT, "--rpm", "0", "--seconds",
                              "1", "--device", "no such", expect=2)
    require("default" in done.stderr, done.stderr)


def what_is_played(workshop):
    """Known sound, played in and recorded on two channels, is equal to the last bit."""
    probe, reference = howl(4), howl(4, seed=2)
    recording = workshop.begin_recording("--seconds", "6", "--reference-channel", "2")
    wait_for_sound(workshop, 1000)
    player = workshop.server.play(numpy.stack([probe, reference], axis=1) / FULL_SCALE, channels=2)
    out, err = recording.communicate(timeout=60)
    player.stop()
    require(recording.returncode == 0, out + err)
    require(out.startswith(f"Recorded t01: {POINT}, 6.0 s, 1800 rpm"), out)
    take = workshop.takes()[0]
    require(take["channels"] == 2 and take["reference_channel"] == 2, str(take))
    heard, rate = read_wav24(workshop.recording(take))
    require(rate == RATE and heard.shape[1] == 6 * RATE, f"{heard.shape} samples at {rate} Hz")
    start = place_of(probe, heard[0])
    parts = heard[:, start:start + probe.size]
    for part, sound in zip(parts, (probe, reference)):
        different = int(numpy.count_nonzero(part != sound))
        require(different == 0, f"{different} of {sound.size} samples differ, from {start} on")
    print(f"equal in all {probe.size} samples of 24 bits in both channels")
    compare_analyses(workshop, probe, parts[0])


def compare_analyses(workshop, sound, part):
    """The recorded stretch and the file itself give one answer."""
    answers = []
    for name, samples in (("played", sound), ("recorded", part)):
        case = workshop.folder / name
        write_wav24(workshop.folder / "take.wav", [samples])
        workshop.howlpoint("new", case, "--profile", PROFILE, "--title", "whine")
        workshop.howlpoint("add", case, workshop.folder / "take.wav", "--point", POINT,
                           "--rpm", "1800")
        answers.append(json.loads(workshop.howlpoint("analyse", case, "--json").stdout))
    require(answers[0]["tones"], "no tone was found")
    require(answers[0] == answers[1], "the analyses differ")


def stopped_by_signal(workshop):
    """Ctrl-C ends a recording as time does: the take is kept."""
    player = workshop.server.play(numpy.stack([howl(8)] * 2, axis=1) / FULL_SCALE, channels=2)
    recording = workshop.begin_recording()
    wait_for_sound(workshop)
    recording.send_signal(signal.SIGINT)
    out, err = recording.communicate(timeout=30)
    player.stop()
    require(recording.returncode == 0, out + err)
    require(out.startswith("Recorded t01"), out + err)
    workshop.howlpoint("check", workshop.case)


def server_killed(workshop):
    """The sound server dies while it is recorded: the take so far is kept, and the next can be."""
    sound = numpy.stack([howl(8)] * 2, axis=1) / FULL_SCALE
    workshop.server.play(sound, channels=2)
    recording = workshop.begin_recording("--seconds", "30")
    file = wait_for_sound(workshop)
    size = file.stat().st_size
    workshop.server.kill()
    out, err = recording.communicate(timeout=30)
    require(recording.returncode == 3, f"exit {recording.returncode}\n{out}{err}")
    require(out.startswith("Recorded t01") and "was lost after" in err, out + err)
    require(workshop.takes()[0]["frames"] * 3 + HEADER_BYTES >= size, "frames are missing")
    workshop.howlpoint("check", workshop.case)
    workshop.server.start()
    player = workshop.server.play(sound, channels=2)
    workshop.howlpoint("record", workshop.case, "--point", POINT, "--rpm", "1800", "--seconds", "1")
    player.stop()
    require(len(workshop.takes()) == 2, "the second take is missing")


def kills(workshop, number=5):
    """SIGKILL at a random moment: the case opens, and at most a second is lost.

    What is lost: from the first sound in the file to the kill, less what was kept. The first
    sound's time is told from how much the file holds when any is seen in it first.
    """
    source = random.Random(7)
    sound = numpy.stack([howl(10)] * 2, axis=1) / FULL_SCALE
    lost = []
    for i in range(number):
        case = workshop.folder / f"case{i}"
        workshop.howlpoint("new", case, "--profile", PROFILE, "--title", "whine")
        player = workshop.server.play(sound, channels=2)
        recording = workshop.begin_recording("--reference-channel", "2", case=case)
        size = wait_for_sound(workshop, HEADER_BYTES, case=case).stat().st_size
        begun = time.monotonic() - (size - HEADER_BYTES) / (2 * 3 * RATE)
        time.sleep(source.uniform(0.6, 2.0))
        recording.kill()
        killed = time.monotonic()
        recording.communicate()
        player.stop()
        done = workshop.howlpoint("check", case)
        require("was not finished; kept as t01" in done.stdout, done.stdout)
        takes = workshop.takes(case)
        require(len(takes) == 1, f"{len(takes)} takes")
        lost.append(killed - begun - takes[0]["frames"] / RATE)
        workshop.howlpoint("check", case)
    print(f"{number} kills: lost at most {max(lost):.3f} s, {sum(lost) / number:.3f} s on average")
    require(max(lost) < 1.0, "more than a second was lost")


def main(arguments):
    program, test = arguments[0], globals()[arguments[1]]
    numbers = [int(text) for text in arguments[2:]]
    with SoundServer() as server, tempfile.TemporaryDirectory() as folder:
        test(Workshop(program, server, folder), *numbers)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
