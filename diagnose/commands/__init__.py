"""The commands of the program, a file each."""

import gc

# Most commands are over before anything is worth collecting, and going over all that was loaded again and again costs
# them a tenth. Those that go on are still collected, after so many objects more.
gc.set_threshold(200_000)
