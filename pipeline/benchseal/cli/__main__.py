"""``python -m benchseal.cli``."""

import sys

from benchseal.cli import main

sys.exit(main())
