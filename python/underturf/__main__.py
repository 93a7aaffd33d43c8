"""The command line: ``underturf COMMAND``, or ``python -m underturf COMMAND``."""

from __future__ import annotations

import sys

from underturf.commands.program import main

__all__ = ["main"]

if __name__ == "__main__":
    sys.exit(main())
