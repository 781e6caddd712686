"""Coverage-guided fuzzing of the readers: `python -m tests.harsh.fuzz case --minutes 60` (case, yaml, knowledge, folder, returned, log).

Wants the extra `fuzz` (atheris, Linux). A child process runs libFuzzer over the package with the changes of `mutate.py` beside its own; what was found
is kept in `--keep` (corpus, log, faults) and a second run goes on from there. A fault is any exception that is no refusal, a reading over `SLOWEST`
seconds of processor time, a process over `MOST_MEMORY` MiB; each kind is kept once, with its input and traceback, and the run goes on.
"""

from __future__ import annotations

import argparse
import hashlib
import importlib.util
import json
import re
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Callable
from pathlib import Path
from typing import Any

#: seconds of processor time that one reading may take, and seconds after which it is taken for hung
SLOWEST, HUNG = 2.0, 60
#: MiB that the process may hold
MOST_MEMORY = 1536
#: bytes of the longest input tried
LONGEST = 1 << 16
NAMES = ("case", "yaml", "knowledge", "folder", "returned", "log")


def main() -> int:
    """Fuzz one reader for a stated time and tell what came of it; the status is 1 where there are faults."""
    words = argparse.ArgumentParser(prog="python -m tests.harsh.fuzz", description=__doc__)
    words.add_argument("reader", choices=NAMES)
    words.add_argument("--minutes", type=float, default=60.0)
    words.add_argument("--keep", type=Path, help="folder of the corpus and the faults (default: a temporary one)")
    words.add_argument("--child", action="store_true", help=argparse.SUPPRESS)
    given = words.parse_args()
    if sys.modules.get("atheris", ...) is None or importlib.util.find_spec("atheris") is None:
        print("fuzzing needs atheris, expected the extra: pip install -e '.[fuzz]'", file=sys.stderr)
        return 2
    keep = given.keep or Path(tempfile.mkdtemp(prefix="fuzz-"))
    if given.child:
        _fuzz(given.reader, given.minutes, keep)
        return 0
    return _told(given.reader, given.minutes, keep)


def _told(name: str, minutes: float, keep: Path) -> int:
    """Run the child until its time is over (a fault of libFuzzer's own, as a hang, ends it early: then it is begun again)."""
    until = time.monotonic() + 60 * minutes
    keep.mkdir(parents=True, exist_ok=True)
    log = keep / "log.txt"
    runs = 0
    while (left := (until - time.monotonic()) / 60) > 0.05 and runs < 50:
        command = [
            sys.executable,
            "-m",
            "tests.harsh.fuzz",
            name,
            "--minutes",
            f"{left:.2f}",
            "--keep",
            str(keep),
            "--child",
        ]
        with log.open("ab") as out:
            subprocess.run(command, stdout=out, stderr=out, check=False)
        runs += 1
    text = log.read_text(errors="replace")
    each = [re.findall(r"^#(\d+)\s", part, re.MULTILINE) for part in text.split("INFO: Seed: ")]
    done = sum(int(numbers[-1]) for numbers in each if numbers)
    grown = [(int(cov), int(ft)) for cov, ft in re.findall(r"^#\d+\s+\w+ +cov: (\d+) ft: (\d+)", text, re.MULTILINE)]
    faults = sorted((keep / "faults").glob("*.json"))
    first, last = (grown[0], max(grown)) if grown else ((0, 0), (0, 0))
    print(
        f"{name}: {done} executions, {runs} runs; edges {first[0]} -> {last[0]}, features {first[1]} -> {last[1]}; faults {len(faults)}"
    )
    for fault in faults:
        told = json.loads(fault.read_text())
        print(f"  {told['what']}\n    at {told['where']}, {told['input']}")
    hard = sorted(path.name for kind in ("crash", "timeout", "oom") for path in keep.glob(f"{kind}-*"))
    print(*(f"  libFuzzer kept {each}" for each in hard), sep="\n", end="\n" if hard else "")
    return 1 if faults or hard else 0


def _fuzz(name: str, minutes: float, keep: Path) -> None:
    import atheris

    with atheris.instrument_imports(include=["diagnose"]):
        from tests.harsh.mutate import dictionary, mutated
        from tests.harsh.readers import READERS

    def change(data: bytes, longest: int, seed: int) -> bytes:
        if seed % 3 == 0:
            return bytes(atheris.Mutate(data, longest))
        return mutated(data, seed)[:longest]

    reader = READERS[name]
    corpus, words = keep / "corpus", keep / "words.dict"
    corpus.mkdir(parents=True, exist_ok=True)
    words.write_text(dictionary())
    for number, seed in enumerate(reader.seeds()):
        (corpus / f"seed-{number:03}").write_bytes(seed)
        if number < 4:
            reader.read(seed)  # so that nothing made once is counted as slow
    options = [
        f"-max_total_time={int(60 * minutes)}",
        f"-timeout={HUNG}",
        f"-rss_limit_mb={MOST_MEMORY}",
        f"-max_len={LONGEST}",
    ]
    options += [f"-dict={words}", f"-artifact_prefix={keep}/", "-print_final_stats=1", "-reload=0", "-len_control=0"]
    atheris.Setup([sys.argv[0], *options, str(corpus)], _watched(reader.read, keep / "faults"), custom_mutator=change)
    atheris.Fuzz()


def _watched(read: Callable[[bytes], Any], faults: Path) -> Callable[[bytes], None]:
    """Return *read* so that each kind of fault is kept once and the run goes on."""
    faults.mkdir(parents=True, exist_ok=True)
    known = {path.stem for path in faults.glob("*.json")}

    def keep(kind: str, what: str, where: str, data: bytes) -> None:
        name = hashlib.sha256(f"{kind} {where}".encode()).hexdigest()[:12]
        if name not in known:
            known.add(name)
            (faults / f"{name}.bin").write_bytes(data)
            told = {"what": what, "where": where, "input": f"{name}.bin", "traceback": traceback.format_exc()[-4000:]}
            (faults / f"{name}.json").write_text(json.dumps(told, indent=1))

    def watched(data: bytes) -> None:
        began = time.process_time()
        try:
            read(data)
        except Exception as error:
            last = traceback.extract_tb(error.__traceback__)[-1]
            where = f"{Path(last.filename).name}:{last.lineno} {last.name}"
            keep(type(error).__name__, f"{type(error).__name__}: {str(error)[:200]}", where, data)
        else:
            spent = time.process_time() - began
            if spent > SLOWEST:
                keep("slow", f"took {spent:.1f} s of processor time", "a reading", data)

    return watched


if __name__ == "__main__":
    sys.exit(main())
