"""`python -m tui` is the command `fillcalc`."""

import sys

from tui.command import main

sys.exit(main())
