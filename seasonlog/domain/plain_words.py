"""Words as people write them: of the register, of a count. Pure; screens, reports and commands share them."""


def plain(word: str) -> str:
    """A word of the register or log as people write it: `heated_basin` is `heated basin`."""
    return word.replace("_", " ").replace("-", " ")


def counted(count: int, one: str, many: str = "") -> str:
    """`1 finding`, `3 findings`."""
    return f"{count} {one}" if count == 1 else f"{count} {many or one + 's'}"
