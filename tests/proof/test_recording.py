"""The picture of the README is what a session shows today, and needs nothing from elsewhere."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET

import pytest

pytest.importorskip("pexpect")

from tests.proof.recording import PICTURE, ROOT, recording


@pytest.mark.timeout(900)
def test_the_recording_is_current() -> None:
    """A session played now gives the same bytes. After a change: `python -m tests.proof.recording`."""
    assert PICTURE.read_text(encoding="utf-8") == recording()


def test_the_recording_is_light_and_stands_alone() -> None:
    """Well-formed, under 150 kB, with a title; no script, no address but the name of SVG, no path of a machine; the last frame is the answer."""
    text = PICTURE.read_text(encoding="utf-8")
    assert len(text.encode()) < 150_000
    root = ET.fromstring(text)
    tags = {each.tag.rpartition("}")[2] for each in root.iter()}
    assert tags == {"svg", "title", "style", "rect", "g", "text", "tspan"}
    assert re.findall(r"\w+://[^\s\"')]+", text) == ["http://www.w3.org/2000/svg"]
    assert not re.search(r"url\(|@import|@font-face|/tmp|/home|/root", text)
    last = root.findall("{*}g")[-1]
    words = " ".join(last.itertext())
    assert last.get("class") == "last"
    assert "It is" in words
    assert "Next pour" in words


def test_the_readme_shows_the_recording_first() -> None:
    """It stands on the first screen, with words for whoever can't see it."""
    head = "\n".join((ROOT / "README.md").read_text(encoding="utf-8").splitlines()[:25])
    shown = re.search(r"!\[([^\]]+)\]\(docs/recording\.svg\)", head)
    assert shown is not None
    assert len(shown[1]) > 40
