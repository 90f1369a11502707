"""Inputs of the command-line tests, computed when a test mentions them: name -> how to write it."""

import math
import random
import struct
import wave

RATE = 16000


def sine(hertz, amplitude, seconds, noise=0.003, seed=1):
    """A tone in white noise; the same at every call."""
    source = random.Random(seed)
    step = 2 * math.pi * hertz / RATE
    return [amplitude * math.sin(step * i) + source.gauss(0, noise)
            for i in range(int(seconds * RATE))]


def sum_of(a, b):
    return [x + y for x, y in zip(a, b)]


def sweep(order, amplitude, seconds, rpm_from, rpm_to):
    """One order of an engine whose speed rises evenly."""
    source = random.Random(2)
    samples = []
    for i in range(int(seconds * RATE)):
        t = i / RATE
        revolutions = (rpm_from * t + (rpm_to - rpm_from) * t * t / (2 * seconds)) / 60
        phase = 2 * math.pi * order * revolutions
        samples.append(amplitude * math.sin(phase) + source.gauss(0, 0.003))
    return samples


def engine(seconds):
    """Four cylinders that are not quite alike, at 1800 rpm: firing orders and half orders."""
    source = random.Random(3)
    lines = [(0.5 * k, 0.02 / k * (1 if k % 4 == 0 else 0.12), source.uniform(0, 2 * math.pi))
             for k in range(1, 33)]
    step = 2 * math.pi * 30 / RATE
    return [sum(a * math.sin(order * step * i + phase) for order, a, phase in lines)
            for i in range(int(seconds * RATE))]


# ---- takes with a fault ----

def spoilt(change, hertz=300):
    samples = sine(hertz, 0.1, 6)
    change(samples, random.Random(3))
    return samples


def overdrive(samples, source):
    for i, x in enumerate(samples):
        samples[i] = max(-0.05, min(0.05, x)) + source.gauss(0, 1e-5)


def lose_buffers(samples, source):
    for start in (2.0, 3.5):
        at = int(start * RATE)
        samples[at:at + 480] = [0.0] * 480


def lose_contact(samples, source):
    for i in range(2 * RATE, 3 * RATE):
        samples[i] *= 0.01


def lost_in(samples):
    lose_contact(samples, None)
    return samples


def loosen(samples, source):
    """A probe that lets the high frequencies go: a low-pass of one pole at 130 Hz."""
    low = 0.0
    for i, x in enumerate(samples):
        low += 0.05 * (x - low)
        if 2 * RATE <= i < 4 * RATE:
            samples[i] = 1.5 * low


def knock(samples, source):
    for i in range(1600):
        samples[3 * RATE + i] += source.gauss(0, 0.2) * math.exp(-i / 200)


def hum(samples, source):
    for i in range(len(samples)):
        turn = 2 * math.pi * i / RATE
        samples[i] += 0.1 * math.sin(50 * turn) + 0.05 * math.sin(150 * turn)


def shake(samples, source):
    speed = place = 0.0
    for i in range(len(samples)):  # a mass on a spring at 8 Hz, pushed at random
        speed += source.gauss(0, 1) - 0.004 * speed - (2 * math.pi * 8 / RATE) ** 2 * place
        place += speed
        samples[i] = 0.05 * samples[i] + 2.5e-5 * place


def fade(samples, source):
    samples[:] = [0.005 * x for x in samples]


def go_off_zero(samples, source):
    samples[:] = [x + 0.2 for x in samples]


def pulses(per_second, seconds):
    period = RATE / per_second
    return [0.8 if i % period < 8 else 0.0 for i in range(int(seconds * RATE))]


def as_pcm16(samples):
    limited = (max(-1.0, min(1.0, s)) for s in samples)
    return b"".join(struct.pack("<h", int(round(32767 * s))) for s in limited)


def write_wav(path, *channels):
    with wave.open(str(path), "wb") as file:
        file.setnchannels(len(channels))
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(as_pcm16([s for frame in zip(*channels) for s in frame]))


def write_float_wav(path, samples):
    data = struct.pack(f"<{len(samples)}f", *samples)
    form = struct.pack("<HHIIHH", 3, 1, RATE, 4 * RATE, 4, 32)
    body = b"WAVEfmt " + struct.pack("<I", len(form)) + form
    body += b"data" + struct.pack("<I", len(data)) + data
    path.write_bytes(b"RIFF" + struct.pack("<I", len(body)) + body)


def write_truncated(path):
    write_wav(path, sine(300, 0.1, 2))
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])


def with_nan(samples):
    return samples[:1000] + [math.nan] + samples[1000:]


def log_text(rows, heading="time_s,rpm"):
    return heading + "\n" + "".join(f"{t},{n}\n" for t, n in rows)


def rising(seconds, rpm_from, rpm_to):
    steps = int(seconds * 10)
    return [(i / 10, rpm_from + (rpm_to - rpm_from) * i / steps) for i in range(steps + 1)]


MAKERS = {
    # 300 Hz is order 10 at 1800 rpm, and 400 Hz is order 10 at 2400 rpm.
    "tone.wav": lambda p: write_wav(p, sine(300, 0.1, 4)),
    "loud.wav": lambda p: write_wav(p, sine(300, 0.2, 4)),
    "quiet.wav": lambda p: write_wav(p, sine(300, 0.02, 4)),
    "tone-2400.wav": lambda p: write_wav(p, sine(400, 0.1, 4)),
    "sweep.wav": lambda p: write_wav(p, sweep(10, 0.1, 8, 900, 3000)),
    "noise.wav": lambda p: write_wav(p, sine(300, 0.0, 4)),
    # 330 Hz is order 11 of the engine that runs in these.
    "running-tone.wav": lambda p: write_wav(p, sum_of(engine(4), sine(330, 0.1, 4))),
    "running-loud.wav": lambda p: write_wav(p, sum_of(engine(4), sine(330, 0.2, 4))),
    "running-quiet.wav": lambda p: write_wav(p, sum_of(engine(4), sine(330, 0.02, 4))),
    "running.wav": lambda p: write_wav(p, sum_of(engine(4), sine(330, 0.0, 4))),
    "running-lost.wav": lambda p: write_wav(p, lost_in(sum_of(engine(4), sine(330, 0.0, 4)))),
    "long-noise.wav": lambda p: write_wav(p, sine(300, 0.0, 8)),
    "stereo.wav": lambda p: write_wav(p, sine(300, 0.1, 4), sine(300, 0.05, 4, seed=2)),
    "mono-in-stereo.wav": lambda p: write_wav(p, sine(300, 0.1, 4), sine(300, 0.1, 4)),
    # A second microphone beside the probe: the howl was 12 dB louder while 'high' was recorded.
    "drift-low.wav": lambda p: write_wav(p, sine(300, 0.05, 4), sine(300, 0.05, 4, seed=2)),
    "drift-high.wav": lambda p: write_wav(p, sine(300, 0.1, 4), sine(300, 0.2, 4, seed=2)),
    # The loudest tone is 487 Hz; 'idle' is without the 300 Hz of 'both'.
    "both.wav": lambda p: write_wav(p, sum_of(sine(300, 0.03, 4), sine(487, 0.1, 4))),
    "idle.wav": lambda p: write_wav(p, sine(487, 0.1, 4)),
    "tacho.wav": lambda p: write_wav(p, sine(300, 0.1, 4), pulses(30, 4)),
    "tone.mp3": lambda p: write_wav(p, sine(300, 0.1, 4)),
    "Geräusch am Öl.wav": lambda p: write_wav(p, sine(300, 0.1, 4)),
    "clipped.wav": lambda p: write_wav(p, sine(300, 3.0, 4)),
    "overdriven.wav": lambda p: write_wav(p, spoilt(overdrive)),
    "lost-buffers.wav": lambda p: write_wav(p, spoilt(lose_buffers)),
    "lost-contact.wav": lambda p: write_wav(p, spoilt(lose_contact)),
    "loose.wav": lambda p: write_wav(p, spoilt(loosen)),
    "knock.wav": lambda p: write_wav(p, spoilt(knock)),
    "hum.wav": lambda p: write_wav(p, spoilt(hum, 337)),
    "shaken.wav": lambda p: write_wav(p, spoilt(shake)),
    "faint.wav": lambda p: write_wav(p, spoilt(fade)),
    "off-zero.wav": lambda p: write_wav(p, spoilt(go_off_zero)),
    "short.wav": lambda p: write_wav(p, sine(300, 0.1, 1.5)),
    "over.wav": lambda p: write_float_wav(p, sine(300, 2.0, 4)),
    "clipped-reference.wav": lambda p: write_wav(p, sine(300, 0.1, 4), sine(300, 3.0, 4)),
    "zeros.wav": lambda p: write_wav(p, [0.0] * (4 * RATE)),
    "one-sample.wav": lambda p: write_wav(p, [0.1]),
    "no-samples.wav": lambda p: write_wav(p, []),
    "empty.wav": lambda p: p.write_bytes(b""),
    "text.wav": lambda p: p.write_text("this is no recording\n"),
    "truncated.wav": write_truncated,
    "nan.wav": lambda p: write_float_wav(p, with_nan(sine(300, 0.1, 2))),
    "log.csv": lambda p: p.write_text(log_text(rising(8, 900, 3000))),
    "late-log.csv": lambda p: p.write_text(log_text(rising(8, 900, 3000)[15:])),
    "short-log.csv": lambda p: p.write_text(log_text(rising(3, 900, 1700))),
    "backwards-log.csv": lambda p: p.write_text(log_text(reversed(rising(8, 900, 3000)))),
    "words-log.csv": lambda p: p.write_text("time_s,rpm\nsoon,fast\n"),
    "zero-log.csv": lambda p: p.write_text(log_text([(t, 0) for t in range(9)])),
    "empty-log.csv": lambda p: p.write_text(""),
}


def make_mentioned(text, folder):
    for name, make in MAKERS.items():
        if name in text:
            make(folder / name)
