"""`python -m tests.bench`: ours beside two general-purpose libraries, in one run; `python -m tests.bench growth`: how every number grows.

Both print what they measure, and with `--write` put it into `docs/speed.md`.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path


def main(words: list[str]) -> int:
    """Run what *words* say; return the exit status."""
    if words[:1] == ["cell"]:
        from tests.bench import cells

        cells.main(words[1])
        return 0
    parser = argparse.ArgumentParser(prog="python -m tests.bench", description=__doc__)
    parser.add_argument("what", nargs="?", choices=("peers", "growth"), default="peers")
    parser.add_argument("--quick", action="store_true", help="a tiny size, in seconds: that everything runs and agrees")
    parser.add_argument("--write", action="store_true", help="put the figures into docs/speed.md")
    parser.add_argument("--limit", type=float, default=60.0, help="processor seconds for a measurement (60)")
    parser.add_argument("--memory", type=int, default=6144, help="MiB for a measurement (6144)")
    parser.add_argument("--cases", type=int, default=3, help="cases drawn for a cell (3)")
    parser.add_argument(
        "--only-kept", action="store_true", help="measure nothing: tell what stands in the file of --keep"
    )
    parser.add_argument("--nets", help="only these nets, with semicolons between: 'our book; 60 x 200'")
    parser.add_argument(
        "--keep", type=Path, help="a file for what was measured; measurements that stand in it are not repeated"
    )
    parser.add_argument("--logs", type=Path, help="growth: a folder for the logs filled, kept for the next time")
    options = parser.parse_args(words)
    if options.what == "growth":
        from tests.bench import growth

        return growth.run(options)
    from tests.bench import side_by_side

    return side_by_side.run(options)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
