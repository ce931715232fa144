"""Emulates random recorders and writes what they would record, and what is true of them.

    python3 devices.py --speech DIR --bursts FILE.wav --from 0 --to 100 --out DIR [--little]

It shares no code with the program under test: numpy, sox and ffmpeg only. DIR of --speech
holds usr/share of Debian's packages of recordings; --bursts is the test sound of the
recorder's sheet. Device SEED leaves files SEED-*.wav (or .mp3) and a line of truth.jsonl.
--little makes pairs with too little in them to tell where a limiter sits.

The laws are those of textbooks (Giannoulis, Massberg and Reiss, "Digital Dynamic Range
Compressor Design", J. Audio Eng. Soc. 60, 2012): a gain smoothed in dB, an envelope of
amplitude or power that is smoothed before the gain is worked out, feed-forward, feed-back,
with look-ahead; and those of sox (compand) and ffmpeg (acompressor), whose stated times
are one and four time constants of the envelope (ffmpeg's from memory of its source).

Ranges of gains, noises, thresholds and times are common practice, without a source.
"""
import argparse
import json
import os
import subprocess
import sys
import numpy as np

SECONDS = 24
TALK = [  # read by people; below usr/share
    "pocketsphinx/test/data/librivox/sense_and_sensibility_01_austen_64kb-%s.wav" % k
    for k in ("0870", "0880", "0890", "0920", "0930")
] + ["pocketsphinx/test/data/cards/00%d.wav" % k for k in (1, 2, 3, 4, 5)] + [
    "codec2/raw/speech_orig_16k.wav", "codec2/wav/big_dog.wav", "codec2/wav/vk5qi.wav",
    "codec2/wav/wia_16kHz.wav", "codec2/wav/mmt1.wav", "codec2/wav/forig.wav"] + [
    "sounds/alsa/%s.wav" % k for k in ("Front_Center", "Rear_Left", "Side_Right")]


def db(x):
    return 20 * np.log10(np.maximum(np.abs(x), 1e-12))


def mag(d):
    return 10.0 ** (np.asarray(d) / 20)


def load(path, rate):
    """A file as one channel at a rate, peak 1, mean removed."""
    raw = subprocess.run(["sox", "-D", path, "-t", "raw", "-e", "float", "-b", "32", "-c", "1", "-",
                          "gain", "-6", "rate", "-v", str(rate)], check=True, capture_output=True).stdout
    x = np.frombuffer(raw, dtype="<f4").astype(float)
    x = x - x.mean()
    return x / np.abs(x).max()


def write(path, channels, rate, bits, used):
    """Codes of `used` bits in words of `bits`."""
    step = 2.0 ** (1 - used)
    x = np.stack(channels, axis=1)
    k = np.clip(np.round(x / step), -2 ** (used - 1), 2 ** (used - 1) - 1).astype(np.int64) << (bits - used)
    b = np.frombuffer(k.astype("<i4").tobytes(), dtype=np.uint8).reshape(-1, 4)[:, :bits // 8].tobytes()
    c = x.shape[1]
    head = b"RIFF" + (36 + len(b)).to_bytes(4, "little") + b"WAVEfmt " + (16).to_bytes(4, "little")
    head += (1).to_bytes(2, "little") + c.to_bytes(2, "little") + rate.to_bytes(4, "little")
    head += (rate * c * bits // 8).to_bytes(4, "little") + (c * bits // 8).to_bytes(2, "little")
    head += bits.to_bytes(2, "little") + b"data" + len(b).to_bytes(4, "little")
    with open(path, "wb") as f:
        f.write(head + b)


def moved(x, rate, delay, drift, tmp):
    """x later by `delay` samples, and by a clock that is faster by `drift`: sox's resampler."""
    k = int(round(delay))
    x = np.concatenate([np.zeros(max(k, 0)), x, np.zeros(len(x))])[max(-k, 0):][:len(x)]
    a, b = tmp + "-in.raw", tmp + "-out.raw"
    raw = ["-t", "raw", "-e", "float", "-b", "64", "-r", str(rate), "-c", "1"]
    (x * 0.1).astype("<f8").tofile(a)
    subprocess.run(["sox", "-D"] + raw + [a] + raw + [b, "speed", "%.9f" % (1 + drift), "rate", "-v", str(rate)], check=True)
    y = np.fromfile(b, dtype="<f8") / 0.1
    os.remove(a)
    os.remove(b)
    return np.concatenate([y, np.zeros(len(x))])[:len(x)]


def room(x, rate, r):
    """A few reflections, as from walls of a small room."""
    y = x.copy()
    for _ in range(r.integers(2, 7)):
        k, a = int(r.uniform(0.002, 0.04) * rate), r.uniform(0.05, 0.35) * r.choice([-1, 1])
        y[k:] += a * x[:-k]
    return y


def loudspeaker(x, rate, r):
    """A phone's: little below some 300 to 500 Hz and above 7 to 12 kHz, 1 % of second and third harmonic."""
    n = len(x)
    f = np.fft.rfftfreq(n, 1 / rate)
    lo, hi = r.uniform(250, 500), r.uniform(7000, 12000)
    h = 1 / np.sqrt(1 + (lo / np.maximum(f, 1)) ** 6) / np.sqrt(1 + (f / hi) ** 8)
    ph = np.exp(1j * (np.arctan2(lo, f) * 2))  # some phase, as a high-pass has
    y = np.fft.irfft(np.fft.rfft(x) * h * ph, n)
    y /= np.abs(y).max()
    a = 0.01 * r.uniform(0.5, 1)
    return y + 2 * a * y ** 2 + 4 * a * y ** 3 * r.choice([-1, 1])


def noise(n, r, room_like):
    """Unit rms; room-like falls with frequency."""
    x = r.standard_normal(n)
    if room_like:
        s = np.fft.rfft(x)
        s /= np.sqrt(1 + np.arange(len(s)) * 24000 / len(s) / 300)
        x = np.fft.irfft(s, n)
    return x / np.sqrt(np.mean(x ** 2))


def rail(x, d):
    """The analogue stage that stops first, if there is one."""
    c = d["rail"]
    if c is None:
        return x
    if d["rail_shape"] == "round":
        n = d["rail_n"]
        return x / (1 + np.abs(x / c) ** n) ** (1 / n)
    return np.minimum(x, c) if d["one_sided"] else np.clip(x, -c, c)


def convert(x, used):
    step = 2.0 ** (1 - used)
    return np.clip(np.round(x / step) * step, -1, 1 - step)


# Limiters. A law is a dict: kind, threshold (dBFS), ratio, knee, attack, release (ms; time
# constants), ahead (ms).

def curve(over, slope, knee):
    """Reduction in dB for levels over the threshold, with a quadratic knee."""
    hard = np.maximum(0, slope * over)
    soft = slope * (over + knee / 2) ** 2 / 2 / np.maximum(knee, 1e-9)
    return np.where((knee > 0) & (np.abs(over) < knee / 2), soft, hard)


def ahead(a, n):
    """The largest of each value and the next n."""
    out, w = a.copy(), 1
    while w < n + 1:
        k = min(w, n + 1 - w)
        out[:-k] = np.maximum(out[:-k], out[k:])
        w += k
    return out


def reduce(signals, laws, rates):
    """The gains of many devices at once: signals [device][time], equally long."""
    n, m = len(signals[0]), len(laws)
    g = lambda k: np.array([l[k] for l in laws], float)
    threshold, slope, knee = g("threshold"), 1 - 1 / g("ratio"), g("knee")
    down, up = (1 - np.exp(-1000 / g(k) / np.array(rates, float)) for k in ("attack", "release"))
    kind = np.array([l["kind"] for l in laws])
    u = np.empty((n, m))
    for i, x in enumerate(signals):
        if kind[i] == "back":
            u[:, i] = db(x) - threshold[i]
        elif kind[i] == "amplitude":
            u[:, i] = np.abs(x)
        elif kind[i] == "power":
            u[:, i] = x * x
        else:
            a = np.abs(x)
            if laws[i]["ahead"]:
                a = ahead(a, int(laws[i]["ahead"] * rates[i] / 1000))
            u[:, i] = curve(db(a) - threshold[i], slope[i], knee[i])
    back = kind == "back"
    ratio1 = np.where(back, slope / (1 - slope), 0)
    state = np.zeros(m)
    e = np.empty(m)
    delta = down - up
    any_back = back.any()
    for i in range(n):
        row = u[i]
        if any_back:
            np.copyto(row, np.maximum(0, (row - state) * ratio1), where=back)
        np.subtract(row, state, out=e)
        state += e * (up + delta * (e > 0))
        u[i] = state
    out = []
    for i in range(m):
        s = u[:, i]
        if kind[i] in ("amplitude", "power"):
            p = 20 if kind[i] == "amplitude" else 10
            s = curve(p * np.log10(np.maximum(s, 1e-12)) - threshold[i], slope[i], knee[i])
        out.append(mag(-s))
    return out


def outside(x, rate, law, tmp):
    """Through ffmpeg's or sox's compressor, in 64-bit files."""
    a, b = tmp + "-in.raw", tmp + "-out.raw"
    (x * 0.1).astype("<f8").tofile(a)
    fmt = ["-f", "f64le", "-ar", str(rate), "-ac", "1"]
    t = law["threshold"] - 20
    try:
        if law["kind"] == "ffmpeg":
            f = "acompressor=threshold=%.9f:ratio=%.6f:attack=%.6f:release=%.6f:knee=1:detection=%s" % (
                mag(t), law["ratio"], 4 * law["attack"], 4 * law["release"], "rms" if law["power"] else "peak")
            subprocess.run(["ffmpeg", "-v", "error", "-y"] + fmt + ["-i", a, "-af", f] + fmt + [b], check=True)
        else:
            raw = ["-t", "raw", "-e", "float", "-b", "64", "-r", str(rate), "-c", "1"]
            top = t + (0 - t) / law["ratio"]
            subprocess.run(["sox", "-D"] + raw + [a] + raw + [b, "compand", "%.6f,%.6f" % (law["attack"] / 1000, law["release"] / 1000),
                            "-100,-100,%.4f,%.4f,0,%.4f" % (t, t, top), "0", "-20"], check=True)
        return np.fromfile(b, dtype="<f8")[:len(x)] * 10
    finally:
        for p in (a, b):
            if os.path.exists(p):
                os.remove(p)


def a_law(r, place):
    kind = str(r.choice(["db", "amplitude", "power", "back", "look", "sox", "ffmpeg"], p=[.25, .15, .15, .15, .1, .08, .12]))
    limits = kind != "back" and r.random() < 0.5
    law = dict(kind=kind, threshold=float(r.uniform(-14, -4)), ratio=float(r.choice([15, 30, 100]) if limits else r.uniform(2, 6)),
               knee=float(r.choice([0, 0, 3, 6])), attack=float(0.4 * 40 ** r.random()), release=float(40 * 12 ** r.random()),
               ahead=0.0, power=bool(r.random() < 0.5))
    if kind in ("sox", "ffmpeg"):
        law["knee"], law["ratio"] = 0.0, min(law["ratio"], 20.0)  # ffmpeg's go no further
    if kind == "look":
        law["ahead"], law["attack"] = float(r.uniform(1, 5)), float(r.uniform(0.3, 2))
    if kind == "back":
        law["attack"] = max(law["attack"], 2.0)
    if place == "automatic_level":
        law.update(kind=str(r.choice(["power", "db"])), threshold=float(r.uniform(-45, -28)), ratio=float(r.uniform(3, 15)),
                   attack=float(r.uniform(100, 500)), release=float(r.uniform(2000, 8000)), knee=0.0)
        if law["kind"] == "db":  # an rms of half a second before it would be as slow
            law["attack"] = float(r.uniform(40, 200))
    return law


def a_device(seed, little):
    r = np.random.default_rng([seed, 1 if little else 0])
    d = dict(seed=seed, rate=44100 if seed // 20 % 3 == 0 else 48000)
    d["place"] = str(r.choice(["none", "before_converter", "after_converter", "both", "automatic_level"], p=[.15, .3, .3, .1, .15]))
    d["laws"] = [a_law(r, d["place"]) for _ in range(2 if d["place"] == "both" else 1)]
    if d["place"] == "both":  # either does something: a slow one, and one above it that catches the rest
        d["laws"][0].update(attack=float(r.uniform(8, 30)), threshold=float(r.uniform(-14, -9)), ratio=float(r.uniform(2, 5)))
        d["laws"][1].update(attack=float(0.4 * 10 ** r.random()), threshold=float(r.uniform(-7, -4)), ratio=20.0)
    d["bits"], d["used"] = [(16, 16), (24, 24), (24, 16), (24, 20)][r.choice(4, p=[.35, .45, .1, .1])]
    d["rail"], d["one_sided"], d["rail_shape"], d["rail_n"] = None, False, "hard", 0.0
    if r.random() < 0.3:
        d["rail"] = float(mag(r.uniform(-9, -1)))
        d["rail_shape"] = str(r.choice(["hard", "round"]))
        d["rail_n"] = float(r.uniform(2, 5))
        d["one_sided"] = bool(d["rail_shape"] == "hard" and r.random() < 0.35)
    d["drive_db"] = float(r.uniform(4, 11))
    d["sound"] = str(r.choice(["talk", "bursts"]))
    d["mp3"] = bool(r.random() < 0.06)
    d["way"] = str(r.choice(["channels", "twice"])) if d["sound"] == "talk" else "twice"
    d["played"] = d["sound"] == "bursts" or d["way"] == "twice"
    d["inverted"] = bool(r.random() < 0.15)
    d["swapped"] = bool(d["place"] != "none" and r.random() < 0.04)
    d["channel_db"] = float(r.uniform(-1, 1)) if d["way"] == "channels" else float(0.1 * r.standard_normal())
    d["delay_s"] = float(r.uniform(-0.4, 0.4)) if d["way"] == "twice" else 0.0
    d["ppm"] = float(r.uniform(-100, 100)) if d["way"] == "twice" else 0.0
    marks = int(r.integers(4, 8))
    steps = r.uniform(2, 11, marks - 1)
    d["gains"] = [0.0] + [float(v) for v in np.cumsum(steps)]
    d["marks"] = [round(10 * k / (marks - 1), 1) for k in range(marks)]
    top = d["gains"][-1]
    d["n_out"] = float(r.uniform(-92, -66))
    d["n_in"] = float(d["n_out"] - r.uniform(-6, top + 6))  # anything from one dominating everywhere to the other
    d["tone_db"] = float(r.uniform(-9, -3)) - top  # at the lowest mark
    d["tone_db"] = max(d["tone_db"], max(d["n_in"], d["n_out"]) - 20 + 20.0)  # 20 dB over the noise in its band and more
    d["offset"] = float(r.choice([0, 0, r.uniform(-0.003, 0.003)]))
    d["room_noise"] = bool(r.random() < 0.5)
    if little:
        d["rail"] = None
        d["mp3"] = d["swapped"] = False
        d["lack"] = str(r.choice(["quiet", "few", "short", "noisy"]))
        if d["place"] in ("none", "automatic_level"):
            d["place"] = str(r.choice(["before_converter", "after_converter"]))
            d["laws"] = [a_law(r, d["place"])]
    return d, r


def performance(d, r, speech, bursts):
    """What is heard: talk of several people, some of it loud, or the test sound."""
    rate = d["rate"]
    if d["sound"] == "bursts":
        x = bursts[rate].copy()
    else:
        x = np.zeros(0)
        while len(x) < SECONDS * rate:
            s = speech[rate][r.integers(len(speech[rate]))]
            if len(s) > 6 * rate:
                k = r.integers(len(s) - 6 * rate)
                s = s[k:k + 6 * rate]
            x = np.concatenate([x, s * mag(-r.uniform(0, 12)), np.zeros(int(0.3 * rate))])
        x = x[:SECONDS * rate]
        x /= np.abs(x).max()
    if d["played"]:
        x = loudspeaker(x, rate, r)
    x = room(x, rate, r)
    x /= np.abs(x).max()
    if d.get("lack") == "short":
        k = int(np.argmax(np.abs(x)))
        k = min(max(k - rate, 0), len(x) - 2 * rate)
        x = x[k:k + int(r.uniform(1.2, 2) * rate)]
        x = x / np.abs(x).max()
    pad = np.zeros(int(0.5 * rate))
    return np.concatenate([pad, x, pad])


def drive(d, r, x):
    """How far the loudest is over full scale, dB."""
    lack = d.get("lack")
    if lack == "quiet":
        return float(r.uniform(-12, -0.5))
    if lack == "noisy":
        return float(r.uniform(-60, -40))
    if lack == "short":
        return float(r.uniform(0.2, 2))
    if lack == "few":  # one to nine stretches
        want = r.integers(1, 10)
        lo, hi = 0.0, 20.0
        for _ in range(20):
            mid = (lo + hi) / 2
            lo, hi = (mid, hi) if tops(x * mag(mid)) < want else (lo, mid)
        return lo
    return d["drive_db"]


def tops(x):
    """Runs of three and more at full scale."""
    a = (np.abs(x) >= 1).astype(np.int8)
    e = np.diff(np.concatenate([[0], a, [0]]))
    return int(np.sum(np.flatnonzero(e == -1) - np.flatnonzero(e == 1) >= 3))


def save(d, path, channels):
    rate = d["rate"]
    write(path, channels, rate, d["bits"], d["used"])
    if d["mp3"]:
        subprocess.run(["ffmpeg", "-v", "error", "-y", "-i", path, "-b:a", "192k", path[:-4] + ".mp3"], check=True)
        os.remove(path)
        return os.path.basename(path[:-4] + ".mp3")
    return os.path.basename(path)


def series(d, r, out):
    """Quiet and the tone at every mark, with a level that does not quite repeat."""
    rate, files = d["rate"], []
    # Noise is told against a full-scale sine, whose rms is 3.01 dB below its peak.
    a_in, a_out = mag(d["n_in"]) / np.sqrt(2), mag(d["n_out"]) / np.sqrt(2)
    for mark, gain in zip(d["marks"], d["gains"]):
        for step, seconds in (("quiet", 4), ("steps", 2.5)):
            n = int(seconds * rate)
            x = a_in * noise(n, r, d["room_noise"])
            if step == "steps":
                # Played again, a loudspeaker is within 0.1 dB (common practice, no source).
                x += mag(d["tone_db"] + 0.1 * r.standard_normal()) * np.sin(2 * np.pi * 1000 * np.arange(n) / rate)
            elif r.random() < 0.2:  # somebody knocks at the table
                k = r.integers(n - rate // 10)
                x[k:k + rate // 20] += 30 * a_in * r.standard_normal(rate // 20) * np.exp(-np.arange(rate // 20) / (rate / 200))
            x = rail(mag(gain) * x, d) + a_out * noise(n, r, False) + d["offset"]
            name = "%d-%s-%g.wav" % (d["seed"], step, mark)
            write(os.path.join(out, name), [convert(x, d["used"])], rate, d["bits"], d["used"])
            files.append((name, "%s,%g" % (step, mark)))
    return files


def main():
    p = argparse.ArgumentParser()
    for a in ("--speech", "--bursts", "--out"):
        p.add_argument(a, required=True)
    p.add_argument("--from", dest="first", type=int, default=0)
    p.add_argument("--to", type=int, default=100)
    p.add_argument("--little", action="store_true")
    p.add_argument("--at-once", type=int, default=50)
    a = p.parse_args()
    for f in (os.path.join(a.speech, "usr/share", t) for t in TALK):
        if not os.path.exists(f):
            sys.exit("open recordings are missing: %s; --speech names the directory below which the packages were unpacked" % f)
    os.makedirs(a.out, exist_ok=True)
    speech, bursts = {}, {}
    for s in range(a.first, a.to, a.at_once):
        batch(range(s, min(s + a.at_once, a.to)), a, speech, bursts)


def sources(rate, a, speech, bursts):
    if rate in speech:
        return
    speech[rate] = [load(os.path.join(a.speech, "usr/share", p), rate) for p in TALK]
    bursts[rate] = load(a.bursts, rate)


def together(d, stage):
    """The law of a stage of a device, if numpy does it."""
    if d["place"] == "none" or stage == "before" and d["place"] == "after_converter" or stage == "after" and d["place"] == "before_converter":
        return None
    return d["laws"][-1 if stage == "after" else 0]


def limit(list_, stage, tmp):
    """list_ of (device, signal): through their limiters of that stage."""
    out = [x for _, x in list_]
    mine = []
    for i, (d, x) in enumerate(list_):
        law = together(d, stage)
        if law is None or d["place"] == "automatic_level" and (stage == "after") != d["alc_after"]:
            continue
        if law["kind"] in ("sox", "ffmpeg"):
            out[i] = outside(x, d["rate"], law, tmp)
        else:
            mine.append(i)
    if mine:
        n = max(len(out[i]) for i in mine)
        pad = [np.concatenate([out[i], np.zeros(n - len(out[i]))]) for i in mine]
        laws = [dict(together(list_[i][0], stage)) for i in mine]
        for l in laws:
            if l["kind"] == "look":
                l["kind"] = "db"
        for i, g in zip(mine, reduce(pad, laws, [list_[i][0]["rate"] for i in mine])):
            out[i] = out[i] * g[:len(out[i])]
    for (d, x), y in zip(list_, out):  # by how much the limiter does anything where it is loud
        loud = np.abs(x) > 0.3 * np.abs(x).max()
        d["deepest_db"] = max(d.get("deepest_db", 0.0), float(-np.percentile(db(y[loud]) - db(x[loud]), 0.5)))
    return out


def batch(seeds, a, speech, bursts):
    made = []
    tmp = os.path.join(a.out, "tmp%d" % seeds[0])
    for seed in seeds:
        d, r = a_device(seed, a.little)
        d["alc_after"] = bool(r.random() < 0.5)
        sources(d["rate"], a, speech, bursts)
        x = performance(d, r, speech, bursts)
        d["drive_db"] = drive(d, r, x)
        # With a stage that stops first, what is loud is loud for that stage.
        x = x * mag(d["drive_db"] + (db(d["rail"]) if d["rail"] else 0))
        d["stretches"] = tops(x / (d["rail"] or 1))
        y = x
        if d["way"] == "twice":
            y = moved(x, d["rate"], d["delay_s"] * d["rate"], 1e-6 * d["ppm"], tmp)
        y = y * mag(d["channel_db"]) * (-1 if d["inverted"] else 1)
        in_, out_ = mag(d["n_in"] + d["gains"][-1]), mag(d["n_out"])
        scale = min(1.0, mag(-50) / np.hypot(in_, out_))  # nobody records louder noise than that
        if d.get("lack") == "noisy":
            scale = mag(r.uniform(-45, -35)) / np.hypot(in_, out_)
        nz = lambda level: scale * level / np.sqrt(2) * r.standard_normal(len(x))
        made.append([d, r, rail(x + nz(in_), d) + nz(out_) + d["offset"], rail(y + nz(in_), d), nz(out_) + d["offset"]])
    on = limit([(m[0], m[3]) for m in made], "before", tmp)
    for x, m in zip(on, made):  # stretches in which the converter is overrun though a limiter stands before it
        m[0]["on_stretches"] = tops(x + m[4])
    on = [convert(x + m[4], m[0]["used"]) for x, m in zip(on, made)]
    on = limit([(m[0], x) for x, m in zip(on, made)], "after", tmp)
    with open(os.path.join(a.out, "truth.jsonl"), "a") as f:
        for (d, r, off, _, _), y in zip(made, on):
            off, y = convert(off, d["used"]), convert(y, d["used"])
            if d["swapped"]:
                off, y = y, off
            name = os.path.join(a.out, "%d-" % d["seed"])
            top = "%g" % d["marks"][-1]
            if d["way"] == "channels":
                d["files"] = [(save(d, name + "pair.wav", [off, y]), "pair," + top)]
            else:
                d["files"] = [(save(d, name + "off.wav", [off]), "off," + top), (save(d, name + "on.wav", [y]), "on," + top)]
            if not a.little:
                d["files"] += series(d, r, a.out)
            f.write(json.dumps(d) + "\n")


if __name__ == "__main__":
    sys.exit(main())
