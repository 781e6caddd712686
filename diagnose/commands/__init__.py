"""The commands of the program, a file each; what is set for the whole process before any of them loads something."""

import gc
import os

# Most commands are over before anything is worth collecting, and going over all that was loaded again and again costs
# them a tenth. Those that go on are still collected, after so many objects more.
gc.set_threshold(200_000)
# NumPy's linear algebra, of which nothing here makes use, starts a thread for each core when it is loaded: a third of
# the processor's time of a start, and more where a shop's log is replayed on all cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
