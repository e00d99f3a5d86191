"""`python -m stiffcalc`."""

import sys

from stiffcalc.cli import main

sys.exit(main())
