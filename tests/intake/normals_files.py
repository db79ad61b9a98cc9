"""Small NCEI normals files: the layouts as the readmes tell them, the dates as published for Albany."""

DATES = {
    "ANN-TMIN-PRBFST-T32FP10": "10/03", "ANN-TMIN-PRBFST-T32FP50": "10/15", "ANN-TMIN-PRBFST-T32FP90": "11/01",
    "ANN-TMIN-PRBLST-T32FP10": "05/11", "ANN-TMIN-PRBLST-T32FP50": "04/27", "ANN-TMIN-PRBLST-T32FP90": "04/16",
    "ANN-TMIN-PRBOCC-LSTH032": "100.0",
}  # fmt: skip
"""NCEI normals 1991-2020, Albany, at 32 degF."""
MONTHLY = (16.9, 18.6, 26.4, 37.3, 48.3, 57.5, 62.2, 60.6, 52.9, 41.5, 32.1, 23.2)
"""Invented, near those of a northern town; January first."""


def row(values: dict[str, str], flags: dict[str, str] | None = None, station: str = "USW00014735") -> tuple[str, str]:
    """Heading and row of the layout of 1991-2020: groups of value, two flags and years, padded with spaces."""
    heading, cells = ["STATION", "LATITUDE", "LONGITUDE", "ELEVATION", "NAME"], []
    for name, value in values.items():
        heading += [name, f"meas_flag_{name}", f"comp_flag_{name}", f"years_{name}"]
        cells += [f'"   {value}"', f'"{(flags or {}).get(name, " ")}"', '"S"', '"30"']
    place = [f'"{station}"', '" 42.7431"', '"-73.8092"', '"  85.6"', '"NOWHERE AP, NY US"  ']
    return ",".join(f'"{each}"' for each in heading), ",".join([*place, *cells])


def annual(values: dict[str, str] | None = None, flags: dict[str, str] | None = None) -> str:
    return "\n".join(row(DATES | (values or {}), flags)) + "\n"


def monthly(lows: tuple[float, ...] = MONTHLY, unit: str = "{:8.1f}") -> str:
    """A file of twelve months, layout of 1991-2020."""
    heading = "STATION,LATITUDE,LONGITUDE,ELEVATION,NAME,month,day,hour,MLY-TMIN-NORMAL,meas_flag_MLY-TMIN-NORMAL"
    rows = [f'USW00014735,42.7,-73.8,85.6,"NOWHERE AP, NY US",{month:02d},99,99,{unit.format(low)}, '
            for month, low in enumerate(lows, 1)]  # fmt: skip
    return "\n".join([heading, *rows]) + "\n"


def old() -> str:
    """The layout of 1981-2010: a column of attributes, the chance times ten, codes for what is missing."""
    values = DATES | {"ANN-TMIN-PRBOCC-LSTH032": "1000", "ANN-TMIN-PRBFST-T16FP10": "-6666",
                      "ANN-TMIN-PRBLST-T36FP10": "-4444", "ANN-TMIN-PRBOCC-LSTH016": "85"}  # fmt: skip
    heading = ["STATION", "NAME", *(name for each in values for name in (each, f"{each}_ATTRIBUTES"))]
    cells = ['"USW00014735"', '"NOWHERE AP"', *(cell for each in values.values() for cell in (each, "S"))]
    return ",".join(heading) + "\n" + ",".join(cells) + "\n"
