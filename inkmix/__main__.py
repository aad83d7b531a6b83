"""`python -m inkmix` is the same as `inkmix`."""

from inkmix.cli.main import main

if __name__ == "__main__":
    main()
