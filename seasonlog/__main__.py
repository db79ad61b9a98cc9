"""Run with `python -m seasonlog`."""

from seasonlog.cli import main

if __name__ == "__main__":
    main()
