"""The command `benchblotter`."""


def main() -> None:
    """Run the command."""
