"""`python -m manifoldgen.compiled MODULE …`: compile the kernels of these modules and keep them."""

import sys
from importlib import import_module

if __name__ == "__main__":
    for module in sys.argv[1:]:
        import_module(f"manifoldgen.{module}")
