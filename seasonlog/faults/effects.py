"""What a fault does to the devices of the circuit. Two faults compose where they sit in different parts."""

from dataclasses import dataclass, fields
from typing import Any

from seasonlog.errors import SeasonlogError


class UnmodelledError(SeasonlogError):
    """The ladder does not cover this circuit or this pair of faults; a sentence says why. Nothing is approximated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """Everything that differs from a healthy circuit."""

    opened: frozenset[str] = frozenset()
    """Contacts, fuses, wires, coils and lamps that are open whatever happens."""
    closed: frozenset[str] = frozenset()
    """Contacts that are closed whatever happens."""
    turned: frozenset[str] = frozenset()
    """Contacts wired on the other throw: `stat`, `level`."""
    shorts: frozenset[tuple[str, str]] = frozenset()
    """Nodes that are joined and should not be."""
    series: frozenset[tuple[str, float]] = frozenset()
    """Contacts or joints with a resistance when closed [ohm]."""
    grounds: frozenset[tuple[str, float]] = frozenset()
    """Leads that reach ground, and through how much [ohm]: `relay_lead`, `other_lead` of the float, or a node."""
    control_share: float = 1.0
    """Control volts over rated."""
    coil_ratio: float = 1.0
    """Rated volts of the contactor's coil over what they should be."""
    heater_ratio: float = 1.0
    """Rated volts of the heater over what they should be."""
    bond_at: str = ""
    """Node the secondary is grounded at instead."""
    float_leg: str = ""
    """Leg the float breaks instead."""
    coil_from: str = ""
    """Node the coil is fed from instead of `k`."""
    stuck_float: str = ""
    """`up` or `down`; a hand frees it."""
    bulb: str = ""
    """`warm`: the sensor hangs in warm air, or reads warm, whatever the water does; ice reaches it."""
    heater: str = ""
    """`element_open`, `element_grounded` or `one_dead`."""


HEALTHY = Effects()
_PLAIN = {each.name: each.default for each in fields(Effects)}


def parts(effects: Effects) -> frozenset[str]:
    """The devices a fault sits in; two faults of one device do not compose."""
    found: set[str] = set()
    for name, plain in _PLAIN.items():
        value = getattr(effects, name)
        if value != plain:
            found |= _named(name, value)
    return frozenset(found)


_DEVICE = {
    "stuck_float": "float", "bulb": "stat", "coil_ratio": "coil", "heater_ratio": "heater", "bond_at": "bond",
    "coil_from": "coil_wire", "kc-kr": "coil",
}  # fmt: skip


def _named(name: str, value: Any) -> set[str]:
    if not isinstance(value, frozenset):
        return {_DEVICE.get(name, name)}
    if name == "shorts":
        return {_DEVICE.get("-".join(pair), "-".join(pair)) for pair in value}
    return {each if isinstance(each, str) else each[0] for each in value}


def composed(one: Effects, other: Effects) -> Effects:
    """Both at once.

    Raises:
        UnmodelledError: they sit in the same part, so that one of them would hide the other.
    """
    shared = parts(one) & parts(other)
    if shared:
        raise UnmodelledError(f"both faults sit in one part ({', '.join(sorted(shared))}); they cannot be composed")
    return Effects(**{name: _joined(name, one, other) for name in _PLAIN})


def _joined(name: str, one: Effects, other: Effects) -> Any:
    mine, theirs = getattr(one, name), getattr(other, name)
    if isinstance(mine, frozenset):
        return mine | theirs
    return theirs if mine == _PLAIN[name] else mine
