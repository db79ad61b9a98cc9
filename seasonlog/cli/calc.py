"""`seasonlog calc NAME`: the pocket calculator; every answer with its working and where the rule comes from."""

import click

from seasonlog.cli.group import LazyGroup

CALCULATIONS: dict[str, str] = {
    "heater": "Amps, ohms and power of a heater, and the bands they may stray in.",
    "signature": "What is wrong with a heater, from the clamp readings of its lines.",
    "branch": "What a heater's branch must carry: minimum amps, breaker, conductor.",
    "control": "Volts left at the contactor's coil, and the longest control run.",
    "thermostat": "Where a dial closes and opens, and how far that stays above freezing.",
    "insulation": "What an insulation reading is worth.",
    "basin": "Heat an idle basin loses, and whether its heater is enough.",
    "freeze-time": "Hours until a basin reaches 32 degF with its heater off or weak.",
    "ice": "How thick ice grows in so many degree-days of frost.",
    "overflow": "What a stuck make-up valve puts on a roof, as water and as ice.",
    "energy": "Heat of a season from weather records, and what a high set point costs.",
}
"""Every calculation and what it answers."""


class CalcGroup(LazyGroup):
    """The calculations, each imported only when called."""

    table = CALCULATIONS
    prefix = "seasonlog.cli.calc_"


@click.group(cls=CalcGroup)
def calc() -> None:
    """A pocket calculator: needs no log. Numbers are plain, units are in the options' names."""
