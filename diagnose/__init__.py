"""Diagnosis of faults in self-skinning flexible polyurethane foam castings.

From what is seen on a bad part and what was done on the pour to ranked causes, the next check worth its
minutes, how to save the part and what to change on the next pour.
"""

__version__ = "0.2.0.dev0"
