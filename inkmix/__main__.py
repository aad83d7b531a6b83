"""Where the program begins: signals first, so that what takes time to load is under them too."""

from inkmix.leaving import leave_at_signals


def main() -> None:
    """Run the command line."""
    leave_at_signals()
    from inkmix.cli.main import main as command_line

    command_line()


if __name__ == "__main__":
    main()
