#!/usr/bin/env python3
"""Records for real, through PortAudio from a private sound server, and looks at what comes of it.

record_test.py PROGRAM TEST [NUMBER]    TEST is the name of one of the functions below
"""

import json
import os
import random
import re
import select
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy

sys.dont_write_bytecode = True
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
from processor_time import processor_seconds  # noqa: E402
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
    """An engine of four cylinders at 1800 rpm, a howl of order 10, and noise, as 24-bit numbers."""
    source = numpy.random.default_rng(seed)
    time_axis = numpy.arange(int(seconds * RATE)) / RATE
    sound = source.normal(0, 0.01, time_axis.size)
    half_orders = [(k / 2, 0.05 / k if k % 4 else 0.1) for k in range(1, 25)]
    for order, amplitude in half_orders + [(10, 0.15)]:
        phase = source.uniform(0, 2 * numpy.pi)
        sound += amplitude * numpy.sin(2 * numpy.pi * order * 30 * time_axis + phase)
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


def disk_full(workshop):
    """A file system of 20 MB fills up: the take so far is kept, in a case that is whole."""
    small = workshop.folder / "small"
    small.mkdir()
    mount = ["mount", "-t", "tmpfs", "-o", "size=20m", "tmpfs", str(small)]
    mounted = subprocess.run(mount, capture_output=True, text=True)
    if mounted.returncode != 0:
        # A limit on the size of files is the nearest thing that needs no rights.
        print(f"a limit of 8 MB on files instead of a small disk, as {mounted.stderr.strip()}")
    try:
        case = small / "whine"
        workshop.howlpoint("new", case, "--profile", PROFILE)
        limit = [] if mounted.returncode == 0 else ["prlimit", "--fsize=8000000"]
        player = workshop.server.play(numpy.stack([howl(60)] * 2, axis=1) / FULL_SCALE, channels=2)
        recording = subprocess.Popen(
            limit + workshop.command("record", case, "--point", POINT, "--rpm", "1800", "--channels",
                                     "8", "--rate", "192000"),
            env=workshop.server.environment, text=True, stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        out, err = recording.communicate(timeout=60)
        player.stop()
        require(recording.returncode == 3, f"exit {recording.returncode}\n{out}{err}")
        require(out.startswith("Recorded t01") and "recording ended after" in err, out + err)
        workshop.howlpoint("check", case)
        take, = workshop.takes(case)
        size = (case / take["recording"]).stat().st_size
        print(f"kept {size / 1e6:.1f} MB; {err.strip().splitlines()[-1]}")
        require(size > (15_000_000 if mounted.returncode == 0 else 7_000_000), "too little was kept")
    finally:
        if mounted.returncode == 0:
            subprocess.run(["umount", "-l", str(small)], check=True)


def headphones(workshop):
    """The probe is heard at the usual output, the louder parts limited to -12 dB."""
    loud = numpy.full(3 * RATE, 0.05)
    loud[RATE:2 * RATE] = 0.9
    ears = workshop.folder / "ears"
    with ears.open("wb") as file:
        listener = subprocess.Popen(
            ["parec", "--device=phones.monitor", f"--rate={RATE}", "--channels=2",
             "--format=float32le"],
            env=workshop.server.environment, stdout=file, stderr=subprocess.DEVNULL)
    recording = workshop.begin_recording("--seconds", "5", "--monitor", "--monitor-gain", "6")
    wait_for_sound(workshop, 1000)
    player = workshop.server.play(numpy.stack([loud] * 2, axis=1), channels=2)
    out, err = recording.communicate(timeout=60)
    player.stop()
    listener.kill()
    listener.wait()
    heard = numpy.fromfile(ears, "<f4")
    require(recording.returncode == 0, out + err)
    ceiling = 10 ** (-12 / 20)
    highest = float(numpy.abs(heard).max())
    require(abs(highest - ceiling) < 1e-4, f"{highest}, and the ceiling is {ceiling}")
    soft = int(numpy.count_nonzero(numpy.abs(heard - 0.05 * 10 ** (6 / 20)) < 1e-4))
    require(soft > RATE, f"only {soft} samples of the soft part were heard as they are")


def terminal(workshop):
    """In a terminal a line shows how it goes, and one key ends the recording."""
    player = workshop.server.play(numpy.stack([howl(20)] * 2, axis=1) / FULL_SCALE, channels=2)
    ours, theirs = os.openpty()
    recording = subprocess.Popen(
        workshop.command("record", workshop.case, "--point", POINT, "--rpm", "1800"),
        env=workshop.server.environment, stdin=theirs, stdout=subprocess.PIPE, stderr=theirs,
        text=True)
    os.close(theirs)
    wait_for_sound(workshop, 400_000)
    os.write(ours, b" ")
    shown = b""
    while recording.poll() is None:
        if select.select([ours], [], [], 0.1)[0]:
            try:
                shown += os.read(ours, 65536)
            except OSError:  # the other end was closed
                break
    recording.wait(timeout=30)
    player.stop()
    out, text = recording.stdout.read(), shown.decode("utf-8", "replace")
    require(recording.returncode == 0 and out.startswith("Recorded t01"), out + text)
    line = r"[\d.]+ s  \[=+ +\] peak +-[\d.]+ level +-[\d.]+ dB  tone 300 Hz, order 10.00"
    require(re.search(line, text), text[-2000:])


def session(workshop):
    """Point after point, hold after hold: each take is judged, and kept, repeated or left out."""
    player = workshop.server.play(numpy.stack([howl(40)] * 2, axis=1) / FULL_SCALE, channels=2)
    time.sleep(1)  # until the player plays
    answers = "\n".join(["", "k", "s", "r", "a", "r", "k", "q"]) + "\n"
    done = subprocess.run(
        workshop.command("session", workshop.case, "--rpm", "1800,2500", "--seconds", "3",
                         "--countdown", "0", "--point", POINT, "--point", "bell housing"),
        env=workshop.server.environment, input=answers, text=True, capture_output=True, timeout=120)
    player.stop()
    require(done.returncode == 0, done.stdout + done.stderr)
    takes = [(take["point"], take["speed"]["rpm"]) for take in workshop.takes()]
    require(takes == [(POINT, 1800), ("bell housing", 1800)], f"{takes}\n{done.stderr}")
    require("2 of 4 recorded, 1 skipped; ended early" in done.stdout, done.stdout)
    require(f"2 of 4: {POINT}, 2500 rpm" in done.stderr, done.stderr)
    require("engine speed by the sound: 1800 rpm" in done.stderr, done.stderr)
    require(not (workshop.case / "unfinished").exists(), "something was left over")
    again = subprocess.run(
        workshop.command("session", workshop.case, "--rpm", "1800,2500", "--point", POINT),
        env=workshop.server.environment, input="q\n", text=True, capture_output=True, timeout=60)
    require("1 of 2 are in the case already" in again.stderr, again.stderr)


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


def long(workshop, seconds=20):
    """Two channels at 48 kHz while a core is busy otherwise: nothing is lost, at a small cost."""
    source = numpy.random.default_rng(4)
    sound = numpy.stack([howl(30)] * 2, axis=1) / FULL_SCALE
    busy = subprocess.Popen([sys.executable, "-c", "while True: pass"])
    recording = workshop.begin_recording("--seconds", str(seconds), "--reference-channel", "2")
    try:
        file = wait_for_sound(workshop, HEADER_BYTES)
        begun, cost = time.monotonic(), 0.0
        while file.exists() and recording.poll() is None:
            if time.monotonic() - begun < seconds - 1:
                cost, until = processor_seconds(recording), time.monotonic()
            player = workshop.server.play(sound * source.uniform(0.2, 1.0), channels=2)
            for _ in range(300):
                if recording.poll() is not None or not file.exists():
                    break
                if time.monotonic() - begun < seconds - 1:
                    cost, until = processor_seconds(recording), time.monotonic()
                time.sleep(0.1)
            player.stop()
        out, err = recording.communicate(timeout=600)
    finally:
        busy.kill()
        busy.wait()
    require(recording.returncode == 0, out + err)
    take, = workshop.takes()
    require(take["frames"] == seconds * RATE, f"{take['frames']} frames")
    print(f"{seconds} s of two channels, {len(take.get('overruns', []))} overruns, "
          f"{100 * cost / (until - begun):.1f} % of one processor")
    require("overruns" not in take, f"{take.get('overruns')}")


def main(arguments):
    program, test = arguments[0], globals()[arguments[1]]
    numbers = [int(text) for text in arguments[2:]]
    with SoundServer() as server, tempfile.TemporaryDirectory() as folder:
        test(Workshop(program, server, folder), *numbers)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
