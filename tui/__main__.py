"""`python -m tui` is the command `fillcalc`."""

import sys

from tui.command.main import main

sys.exit(main())
