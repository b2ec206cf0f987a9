"""One thread for linear algebra: tests run two at a time, and threads that wait for one another only burn the clock."""

import os

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
