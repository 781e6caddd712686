"""The knowledge of the trade: read from YAML, checked, and handed on as one immutable object.

`load_knowledge` is the way in; `Knowledge` is what the rest of the program sees. Words become numbers here and
nowhere else. `docs/knowledge.md` describes the files.
"""

from diagnose.knowledge.model import (
    Cause,
    Check,
    Danger,
    Evidence,
    Fact,
    Knowledge,
    Link,
    Lumps,
    Material,
    Practice,
    Remedy,
    Result,
    Source,
    Span,
    Symptom,
)
from diagnose.knowledge.store import knowledge_root, load_knowledge

__all__ = [
    "Cause",
    "Check",
    "Danger",
    "Evidence",
    "Fact",
    "Knowledge",
    "Link",
    "Lumps",
    "Material",
    "Practice",
    "Remedy",
    "Result",
    "Source",
    "Span",
    "Symptom",
    "knowledge_root",
    "load_knowledge",
]
