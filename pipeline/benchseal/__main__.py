"""``python -m benchseal``."""

import sys

from benchseal.cli import main

if __name__ == "__main__":  # a process that this one starts reads the file too
    sys.exit(main())
