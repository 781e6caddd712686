"""The report in words: records of an `Assessment` put into sections, nothing decided."""
