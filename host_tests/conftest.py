"""What makes every test cheaper and no test different."""

import gc
import sys

from potreeve.logic import record, state

# The names in the firmware's tables are cut out of one text. Python finds an attribute faster by a name it keeps once.
for names in (state.RIG_NAMES, state.POT_NAMES, record.HEAD_NAMES, record.POT_NAMES):
    names[:] = map(sys.intern, names)

# Tests make much that is dropped at once and seldom goes in circles: the collector looks for circles less often than
# at every 700th object.
gc.set_threshold(50_000, 20, 20)


def pytest_collection_finish():
    """What was loaded until here stays to the end: the collector need not walk through it again and again."""
    gc.collect()
    gc.freeze()
