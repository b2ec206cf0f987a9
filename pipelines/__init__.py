"""Linear algebra on one thread, settled before numpy is loaded.

The matrices here are small: threads that wait for one another made the loss model of 1,000 horses four times slower on
two idle cores, and far slower on busy ones. What the person has set in the environment is kept.
"""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
