"""``python -m benchseal``."""

import sys

from benchseal.cli import main

sys.exit(main())
