"""A case: its answers, read from a file or given one by one, what follows from them, and how it is written down."""

from diagnose.casebook.case import About, Case, Told, parse_answer
from diagnose.casebook.case_reading import Limits, case_from_bytes, read_case, usable_case
from diagnose.casebook.case_writing import case_text

__all__ = [
    "About",
    "Case",
    "Limits",
    "Told",
    "case_from_bytes",
    "case_text",
    "parse_answer",
    "read_case",
    "usable_case",
]
