"""How often the tests of durability repeat: small by default, more when `python -m tests.durability` asks for it."""

import os

FACTOR = int(os.environ.get("SEASONLOG_DURABILITY", "1"))
"""1 in every run of the suite; 4 for the figures that are promised, 40 for the long run."""


def scaled(count: int) -> int:
    """A number of repetitions."""
    return count * FACTOR
