"""The page `docs/speed.md`: what is measured stands between two marks, and each command puts its own there."""

from __future__ import annotations

import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "speed.md"


def put(part: str, text: str, page: Path = PAGE) -> None:
    """Put *text* between the marks of *part*. Raises ValueError where the page has no such marks."""
    begin, end = f"<!-- {part}: made by a command -->", f"<!-- end of {part} -->"
    whole = page.read_text(encoding="utf-8")
    pattern = re.compile(re.escape(begin) + ".*?" + re.escape(end), re.DOTALL)
    if not pattern.search(whole):
        raise ValueError(f"{page}: expected a line '{begin}' and later '{end}'")
    made = f"{begin}\n\n{text.strip()}\n\n{end}"
    page.write_text(pattern.sub(lambda _: made, whole, count=1), encoding="utf-8")
