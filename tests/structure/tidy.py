#!/usr/bin/env python3
"""clang-tidy over dsp/, src/ and ui/, the files of a directory together, so that headers are read once.

tidy.py SOURCE BUILD [JOBS]   BUILD holds compile_commands.json; what was clean is remembered in
                              BUILD/tidy and not looked at again until it, a header or the list of
                              checks changes. Prints what is found; exit 1 if there is anything
tidy.py --self-test           plants a breach and expects it to be found where it is
"""

import hashlib
import json
import os
import re
import shlex
import subprocess
import sys
import tempfile
from multiprocessing.pool import ThreadPool
from pathlib import Path

LAYERS = ("dsp", "src", "ui")
KEPT_FLAGS = re.compile(r"-[DI]|-std=")
INCLUDED = re.compile(r'^#include "(/.*)"$', re.M)
MOST_FILES = 40  # in a batch: headers take most of the time; few enough to keep all processors busy


def files_of(root, *suffixes):
    return sorted(f for layer in LAYERS for f in (root / layer).rglob("*") if f.suffix in suffixes)


def flags_of(build):
    """What decides how a file is read, by file; not its warnings, nor the other compiler's
    precompiled headers."""
    flags = {}
    for entry in json.loads((build / "compile_commands.json").read_text(encoding="utf-8")):
        words = shlex.split(entry["command"])
        kept = [word for word in words if KEPT_FLAGS.match(word)]
        for flag, value in zip(words, words[1:]):
            if flag == "-isystem":
                kept += [flag, value]
        file = Path(entry["directory"], entry["file"]).resolve()
        # Where directories are compiled as one, a file that includes theirs stands for them.
        parts = INCLUDED.findall(file.read_text(encoding="utf-8")) if "Unity" in file.parts else []
        for part in parts or [file]:
            flags[Path(part)] = kept
    return flags


def stamp_of(file, shared, folder):
    digest = hashlib.sha256(shared)
    digest.update(str(file).encode() + file.read_bytes())
    return folder / digest.hexdigest()[:40]


def batches_of(files):
    """Files of one directory and one set of flags; large batches first."""
    groups = {}
    for file, flags in files.items():
        groups.setdefault((file.parent, tuple(flags)), []).append(file)
    batches = []
    for (_, flags), group in groups.items():
        count = -(-len(group) // MOST_FILES)
        batches += [(group[i::count], flags) for i in range(count)]
    return sorted(batches, key=lambda b: -sum(file.stat().st_size for file in b[0]))


def check(files, flags, root, folder, name):
    """Findings in files that are read as one; included they would count as headers, in which not
    every check looks."""
    text, starts = "", []
    for file in files:
        starts.append((text.count("\n"), file))
        text += file.read_text(encoding="utf-8").rstrip("\n") + "\n"
    batch = folder / f"{name}.cpp"
    batch.write_text(text, encoding="utf-8")

    def own_place(match):
        line = int(match.group(1))
        before, file = [start for start in starts if start[0] < line][-1]
        return f"{file.relative_to(root)}:{line - before}"

    done = subprocess.run(
        ["clang-tidy", "--quiet", f"--config-file={root / '.clang-tidy'}", "--warnings-as-errors=*",
         "--extra-arg=-w", str(batch), "--", *flags],
        cwd=root, text=True, capture_output=True)
    if done.returncode == 0:
        return ""
    return re.sub(re.escape(str(batch)) + r":(\d+)", own_place, done.stdout) or done.stderr


def tidy(root, build, jobs):
    """What is found in the files that were not clean the last time."""
    folder = build / "tidy"
    folder.mkdir(exist_ok=True)
    flags = flags_of(build)
    shared = b"".join(file.read_bytes() for file in
                      [root / ".clang-tidy", Path(__file__), *files_of(root, ".h", ".inc")])
    stamps = {file: stamp_of(file, shared, folder) for file in files_of(root, ".cpp")}
    unknown = [file for file in stamps if file not in flags]
    if unknown:
        return "".join(f"{file.relative_to(root)}: is not compiled\n" for file in unknown)
    batches = batches_of({file: flags[file] for file, stamp in stamps.items() if not stamp.exists()})

    def check_batch(numbered):
        number, (files, own_flags) = numbered
        findings = check(files, own_flags, root, folder, f"batch{number}")
        if not findings:
            for file in files:
                stamps[file].touch()
        return findings

    with ThreadPool(jobs) as pool:
        return "".join(pool.imap(check_batch, enumerate(batches), chunksize=1))


# ------------------------------------------------------------------------------------- self-test

CLEAN = "namespace {\nint one() { return 1; }\n}  // namespace\nint two() { return 2 * one(); }\n"
BREACH = "#include <utility>\n\nusing std::pair;\n"
FOUND = "dsp/breach.cpp:3:12: error: using decl 'pair' is unused"


def self_test():
    with tempfile.TemporaryDirectory() as name:
        root = Path(name).resolve()
        for folder in ("dsp", "src", "build"):
            (root / folder).mkdir()
        (root / ".clang-tidy").write_text("Checks: '-*,misc-unused-using-decls'\n")
        files = {root / "dsp/a.cpp": CLEAN, root / "dsp/breach.cpp": BREACH}
        for file, text in files.items():
            file.write_text(text)
        commands = [{"directory": name, "file": str(file), "command": f"c++ -std=c++20 -c {file}"}
                    for file in files]
        (root / "build/compile_commands.json").write_text(json.dumps(commands))
        build = root / "build"
        first = tidy(root, build, 2)
        (root / "dsp/breach.cpp").write_text(CLEAN.replace("one", "three").replace("two", "four"))
        mended = tidy(root, build, 2)
        (root / "dsp/a.cpp").write_text("not C++\n")
        broken = tidy(root, build, 2)
        failures = [what for what, holds in (
            (f"the breach is not found: {first!r}", FOUND in first),
            (f"clean files are refused: {mended!r}", not mended),
            (f"what cannot be read is not refused: {broken!r}", "dsp/a.cpp:1" in broken),
        ) if not holds]
    print("\n".join(failures) or "the planted breaches were found")
    return 1 if failures else 0


def main(arguments):
    if arguments == ["--self-test"]:
        return self_test()
    root, build = (Path(argument).resolve() for argument in arguments[:2])
    jobs = int(arguments[2]) if len(arguments) > 2 else os.cpu_count()
    found = tidy(root, build, jobs)
    print(found, end="")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
