"""A case thought through once: one immutable record of all conclusions. Decides everything, words nothing."""
