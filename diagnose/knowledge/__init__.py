"""The knowledge of the trade: read from YAML, checked, and handed on as one immutable object.

`load_knowledge` is the way in; `Knowledge` is what the rest of the program sees. Words become numbers here and
nowhere else. `docs/knowledge.md` describes the files. Names are imported when they are first asked for.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from diagnose.knowledge.files import knowledge_root
    from diagnose.knowledge.kinds import Link
    from diagnose.knowledge.model import (
        AnyQuestion,
        Cause,
        Check,
        Danger,
        Evidence,
        Fact,
        Knowledge,
        Lumps,
        Material,
        Practice,
        Question,
        Remedy,
        Result,
        Source,
        Span,
        Symptom,
    )
    from diagnose.knowledge.store import load_callers, load_knowledge

__all__ = [
    "AnyQuestion",
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
    "Question",
    "Remedy",
    "Result",
    "Source",
    "Span",
    "Symptom",
    "knowledge_root",
    "load_callers",
    "load_knowledge",
]
_ELSEWHERE = {"knowledge_root": "files", "Link": "kinds", "load_callers": "store", "load_knowledge": "store"}


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_ELSEWHERE.get(name, 'model')}"), name)
