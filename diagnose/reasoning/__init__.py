"""Exact reasoning over causes, facts and effects: posterior, responsibility, questions, plans, sensitivity.

Knows no YAML, no screen and no clock; holds no word of the trade. `docs/reasoning.md` gives the model.
"""
