"""Which program and which knowledge are in use, in a line: behind `diagnose --version`,
and at the foot of the handbook.
"""

from __future__ import annotations

import diagnose


def versions(knowledge_dir: str | None = None) -> str:
    """Return program and knowledge in a line: `diagnose, version 0.2.0, knowledge 1f0c2a9b7d3e`.

    The knowledge is named by the first 12 digits of the SHA-256 of its files, the shop's own among them, so two that
    print the same say the same. The files are not read through for faults. Raises InputError where there are none.
    """
    from diagnose.knowledge.cache import content_key
    from diagnose.knowledge.files import files_in_use

    return f"diagnose, version {diagnose.__version__}, knowledge {content_key(files_in_use(knowledge_dir))[:12]}"
