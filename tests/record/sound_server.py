"""A private sound server without a sound card, to play into and to record from.

As long as it lives, PULSE_SERVER and an ALSA configuration lead every program that gets its
environment to it: recording from "default" gives what is played into the sink "probe".
"""

import os
import shutil
import subprocess
import tempfile
import time
import wave
from pathlib import Path

RATE = 48000
ALSA = "pcm.!default { type pulse }\nctl.!default { type pulse }\n"
PATIENCE_SECONDS = 20


def be_quick():
    """A server that is late drops sound, as a sound card would not; where allowed it goes first."""
    try:
        os.nice(-15)
    except PermissionError:
        pass


class SoundServer:
    def __init__(self):
        for program in ("pulseaudio", "pactl", "pacat"):
            if shutil.which(program) is None:
                raise RuntimeError(f"{program} is missing; this test needs it (.ci/packages.sh)")
        self.folder = Path(tempfile.mkdtemp(prefix="howl-sound-"))
        self.folder.chmod(0o700)
        (self.folder / ".asoundrc").write_text(ALSA)
        self.environment = {
            **os.environ, "HOME": str(self.folder), "XDG_RUNTIME_DIR": str(self.folder),
            "PULSE_SERVER": f"unix:{self.folder}/sound", "PULSE_COOKIE": str(self.folder / "cookie"),
            "LC_ALL": "C.UTF-8"}
        self.environment.pop("DISPLAY", None)
        self.process = None
        self.start()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.kill()
        shutil.rmtree(self.folder, ignore_errors=True)

    def start(self):
        sinks = [f"module-null-sink sink_name={name} format=float32le rate={RATE} channels=2"
                 for name in ("probe", "phones")]
        modules = sinks + [f"module-native-protocol-unix auth-anonymous=1 socket={self.folder}/sound"]
        self.process = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--use-pid-file=no",
             "--disable-shm=yes", *(word for module in modules for word in ("-L", module))],
            env=self.environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            preexec_fn=be_quick)
        self.wait_until_it_answers()
        self.run("pactl", "set-default-source", "probe.monitor")
        self.run("pactl", "set-default-sink", "phones")

    def wait_until_it_answers(self):
        for _ in range(PATIENCE_SECONDS * 20):
            done = subprocess.run(["pactl", "info"], env=self.environment, capture_output=True)
            if done.returncode == 0:
                return
            time.sleep(0.05)
        raise RuntimeError("the sound server does not answer")

    def kill(self):
        if self.process is not None:
            self.process.kill()
            self.process.wait()
            self.process = None

    def run(self, *command, **options):
        return subprocess.run(command, env=self.environment, capture_output=True, text=True,
                              timeout=120, check=True, **options)

    def play(self, samples, channels=1, sink="probe"):
        """Plays float samples (an array, channels interleaved) in the background, unchanged.

        Half a second of silence goes before it: a player that starts may stumble.
        """
        player = subprocess.Popen(
            ["pacat", "--playback", f"--device={sink}", f"--rate={RATE}", f"--channels={channels}",
             "--format=float32le", "--no-remix", "--no-remap", "--latency-msec=1000"],
            env=self.environment, stdin=subprocess.PIPE, stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL)
        return Player(player, bytes(4 * channels * (RATE // 2)) + samples.astype("<f4").tobytes())


class Player:
    """Feeds a player from a thread of its own, until the sound or the player ends."""

    def __init__(self, process, data):
        import threading
        self.process = process
        self.thread = threading.Thread(target=self.feed, args=(data,), daemon=True)
        self.thread.start()

    def feed(self, data):
        try:
            self.process.stdin.write(data)
            self.process.stdin.close()
        except (BrokenPipeError, ValueError):
            pass

    def stop(self):
        self.process.kill()
        self.process.wait()


def read_wav24(file):
    """Samples of a 24-bit WAV as whole numbers, one row a channel; and its rate."""
    import numpy
    with wave.open(str(file)) as wav:
        if wav.getsampwidth() != 3:
            raise RuntimeError(f"{file} has {8 * wav.getsampwidth()} bits")
        raw = numpy.frombuffer(wav.readframes(wav.getnframes()), numpy.uint8).reshape(-1, 3)
        values = (raw[:, 0].astype(numpy.int32) | raw[:, 1].astype(numpy.int32) << 8 |
                  raw[:, 2].astype(numpy.int8).astype(numpy.int32) << 16)
        return values.reshape(-1, wav.getnchannels()).T, wav.getframerate()


def write_wav24(file, channels):
    import numpy
    values = numpy.stack(channels, axis=1).astype("<i4")
    raw = values.view(numpy.uint8).reshape(-1, 4)[:, :3]
    with wave.open(str(file), "wb") as wav:
        wav.setnchannels(len(channels))
        wav.setsampwidth(3)
        wav.setframerate(RATE)
        wav.writeframes(raw.tobytes())
