"""A job worked out whole, once: what every verb, page, picture and notebook reads."""

from manifoldgen.designs.make import SEED, design
from manifoldgen.designs.model import Design

__all__ = ["SEED", "Design", "design"]
