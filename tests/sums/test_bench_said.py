"""What every sum says, word for word, and all its figures: of its example, and of inputs that turn it the other way."""

from pathlib import Path

import pytest
import yaml

from diagnose.bench import catalogue
from diagnose.knowledge import load_knowledge

LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
SAID = yaml.load(Path(__file__).with_name("said.yaml").read_text(encoding="utf-8"), LOADER)
PRACTICE = load_knowledge().practice


def test_every_sum_is_there():
    """None is left out of the file."""
    assert {row["sum"] for row in SAID} == set(catalogue.names())


@pytest.mark.parametrize("row", SAID, ids=[f"{row['sum']}-{i}" for i, row in enumerate(SAID)])
def test_a_sum_says_it_in_these_words_and_figures(row):
    """The sentence, the lines under it, and each figure with its unit, its ends, its own error and how it was got."""
    found = catalogue.by_name(row["sum"]).run(row["given"], PRACTICE)
    assert (found.text, list(found.lines)) == (row["text"], row["lines"])
    wanted = row.get("figures", {})
    assert list(found.figures) == list(wanted)
    for name, (value, unit, low, high, error, *how) in wanted.items():
        figure = found.figures[name]
        assert (figure.unit, figure.text) == (unit, how[0] if how else "")
        assert (figure.low is None, figure.high is None) == (low is None, high is None)
        numbers = (figure.value, figure.low or 0.0, figure.high or 0.0, figure.own_error)
        assert numbers == pytest.approx((value, low or 0.0, high or 0.0, error), rel=1e-8, abs=1e-10)
