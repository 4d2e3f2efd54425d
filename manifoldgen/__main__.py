"""`python -m manifoldgen`: the same as the command `manifoldgen`."""

import sys

from manifoldgen.cli import main

if __name__ == "__main__":
    sys.exit(main())
