"""How long a test waits for a child process, in seconds of the wall clock; `DIAGNOSE_WAIT` sets more, for a machine under load.

A little less than a test itself may take (`timeout` in pyproject.toml), so that a failure still shows what the child said last.
"""

from __future__ import annotations

import os

WAIT = float(os.environ.get("DIAGNOSE_WAIT", "100"))
