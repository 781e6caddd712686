"""The trade's sums: mix, charge, clock, heat, humidity, venting, skin, paint and air.

Pure functions, no screen, no clock, no files. They serve twice: as facts worked out from raw answers
in a diagnosis, and as the numbers on the sheet for the next pour. Inside everything is SI (kg, m, s,
Pa); temperatures are degC where a name ends in ``_c``, and names that end in another unit say so.
A value outside a formula's range raises `BenchError`: nothing is clamped and nothing comes back as nan.
Nothing is imported here, so that asking for one sum does not load them all.
"""
