"""A case: its answers, read from a file or given one by one, what follows from them, and how it is written down."""

from diagnose.casebook.case import Case, case_text, parse_answer, read_case

__all__ = ["Case", "case_text", "parse_answer", "read_case"]
