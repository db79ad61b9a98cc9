"""`seasonlog verifier`: the one-file program that checks a bundle without us."""

from pathlib import Path

import click

from seasonlog.cli import frame


@click.command()
@click.option("-o", "--output", metavar="FILE", required=True, help="Write the program to this file.")
def verifier(output: str) -> int:
    """Write a one-file Python program that checks a bundle: standard library only, to be read and run by anybody."""
    from importlib.resources import files

    frame.write_file(Path(output), (files("seasonlog.journal") / "standalone_verifier.py").read_bytes())
    frame.say(f"Run it with: python3 {output} BUNDLE")
    return 0
