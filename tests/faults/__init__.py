"""What is tried against the files, the disk, the terminal and the command."""

import os

os.environ.pop("PYTHONDONTWRITEBYTECODE", None)  # else each screen that a trial starts compiles all modules anew
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # a thread that waits for work would keep a processor busy
