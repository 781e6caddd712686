"""Where the program keeps its things on this machine: data, state, cache.

The one place that knows the program's name to the system, so that a folder is looked for where it was written.
platformdirs is imported when a folder is asked for: `--help` needs none.
"""

from __future__ import annotations

from pathlib import Path

_NAME = "diagnose"


def data_folder() -> Path:
    """Return the folder of what the shop keeps for good: its own file, its log."""
    from platformdirs import user_data_path

    return user_data_path(_NAME, appauthor=False)


def state_folder() -> Path:
    """Return the folder of what is not finished yet."""
    from platformdirs import user_state_path

    return user_state_path(_NAME, appauthor=False)


def cases_folder() -> Path:
    """Return the folder in which the questionnaire keeps its cases."""
    return state_folder() / "cases"


def cache_folder() -> Path:
    """Return the folder of what can be made again at any time."""
    from platformdirs import user_cache_path

    return user_cache_path(_NAME, appauthor=False)
