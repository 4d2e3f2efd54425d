"""All sheets in their order."""


def build_sheets() -> None:
    """Come."""
