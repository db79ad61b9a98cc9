"""Words as people write them: of the register, of a count. Pure; screens, reports and commands share them."""

_WRITTEN = {
    "mid-winter": "mid-winter", "cold-snap": "cold-snap check", "cut_in": "cut-in", "cut_out": "cut-out",
    "closed_circuit": "closed-circuit", "self_regulating": "self-regulating",
}  # fmt: skip
"""What takes more than spaces."""

NOTED = "noted"
"""What the record says of an answer in a person's own words."""


def plain(word: str) -> str:
    """A word of the register or log as people write it: `heated_basin` is `heated basin`."""
    return _WRITTEN.get(word) or word.replace("_", " ").replace("-", " ")


def chosen(value: str, says: str) -> str:
    """An answer as people write it: of a choice `on rightly`; a person's own words, of which `says` is NOTED, stay."""
    return plain(value) if value.isidentifier() and says != NOTED else value


def counted(count: int, one: str, many: str = "") -> str:
    """`1 finding`, `3 findings`."""
    return f"{count} {one}" if count == 1 else f"{count} {many or one + 's'}"


def entries(count: int) -> str:
    """`1 entry`, `3 entries`: of the log."""
    return counted(count, "entry", "entries")


def photos(count: int) -> str:
    """`1 photo or clip`, `3 photos and clips`."""
    return counted(count, "photo or clip", "photos and clips")
