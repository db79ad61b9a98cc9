"""Small invented weather files of every form the reader knows."""

from collections.abc import Callable, Sequence

OHARE = "chicago-ohare-725300-TMY3.epw"
ALBANY = "albany-USW00014735-daily-degC.csv"
NEW_YORK = "nyc-USW00094728-tmin-tmax-1950on.dly"

ACCESS = (
    '"STATION","DATE","LATITUDE","LONGITUDE","ELEVATION","NAME","PRCP","PRCP_ATTRIBUTES","TMAX","TMAX_ATTRIBUTES",'
    '"TMIN","TMIN_ATTRIBUTES"\n'
    '"USW00099999","2026-01-01","42.5","-73.8","84.0","NOWHERE AP, NY US","    0",",,W","   22",",,W","  -78",",,W"\n'
    '"USW00099999","2026-01-02","42.5","-73.8","84.0","NOWHERE AP, NY US","   10",",,W","   11",",,W"," -106",",I,W"\n'
)
ORDER = (
    '"STATION","NAME","DATE","PRCP","SNOW","TMAX","TMIN"\n'
    '"USW00099999","NOWHERE AP, NY US","2026-01-01","0.00","0.0","36","18"\n'
    '"USW00099999","NOWHERE AP, NY US","2026-07-02","0.10","0.0","88","66"\n'
    '"USW00099999","NOWHERE AP, NY US","2026-07-03","0.10","0.0","","65"\n'
)
BY_STATION = (
    "USW00099999,20260101,TMAX,22,,,W,2400\nUSW00099999,20260101,TMIN,-78,,,W,2400\n"
    "USW00099999,20260102,PRCP,10,,,W,\nUSW00099999,20260102,TMIN,-106,,I,W,2400\n"
)
BY_PARTS = "YYYY,MM,DD,TMAX,TMIN,PRCP\n2026,01,01,    2.2,   -7.8,    0.0\n2026,01,02,-9999.0,  -10.6,    1.0\n"
OWN_DAYS = "date,tmin_degf,tmax_degf\n2026-01-01,18,36\n2026-01-02,13,\n"
OWN_DAYS_METRIC = "date,tmin_degc,tmax_degc\n2026-01-01,-7.8,2.2\n"
OWN_HOURS = (
    "time,degf,wind_mph,humidity_percent,cloud_tenths\n2026-01-01T00:00,18.5,7,80,10\n2026-01-01T01:00,17,,,\n"
    "2026-01-01T04:00,15.1,3.5,75,0\n"
)
TMY3_HEADING = "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),OpqCld (tenths),Dry-bulb (C),RHum (%),Wspd (m/s)"


def month(element: str, values: Sequence[int], *, year_month: str = "202602", flags: str = "") -> str:
    """One line of a fixed-width file; missing up to 31 values."""
    cells = [f"{value:5d} {flag or ' '}W" for value, flag in zip(values, [*flags, *[""] * 31], strict=False)]
    return f"USW00099999{year_month}{element}" + "".join([*cells, *["-9999   "] * (31 - len(cells))]) + "\n"


def dly() -> str:
    """February 2026, 28 days; the third lowest failed a check."""
    return month("TMAX", [22] * 28) + month("TMIN", [-78] * 28, flags="  I")


def hours(row: Callable[[int, int, int], str], *, days: int = 365) -> str:
    """A row for each hour, 1 to 24, of a common year."""
    lengths = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31]
    calendar = [(month, day) for month, length in enumerate(lengths, 1) for day in range(1, length + 1)]
    return "".join(row(month, day, hour) for month, day in calendar[:days] for hour in range(1, 25))


def epw(row: Callable[[int, int, int], str] | None = None, *, days: int = 365) -> str:
    """Eight heading lines and a year at -5 degC, 3 m/s, 70 %, 4 tenths of opaque cloud of 6 in all."""
    heading = ["LOCATION,Nowhere Ap,NY,USA,TMY3,799999,42.50,-73.80,-5.0,84.0", *["COMMENTS"] * 7]
    return "\n".join(heading) + "\n" + hours(row or epw_row, days=days)


def epw_row(month: int, day: int, hour: int, *, air: str = "-5.0", year: int = 1986) -> str:
    sun = ",".join(["0"] * 10)
    rest = "270,3.0,6,4,24.1,2740,9,999999999,40,0.0000,0,88,999.000,999.0,99.0"
    return f"{year},{month},{day},{hour},0,?9?9,{air},-9.5,70,99500,{sun},{rest}\n"


def tmy3() -> str:
    """A year at 10 degC, 6.2 m/s, 77 %, 7 tenths."""
    first = '723170,"NOWHERE TRIAD INT",NC,-5.0,36.100,-79.950,273\n'
    row = lambda m, d, h: f"{m:02d}/{d:02d}/1988,{h:02d}:00,0,7,10.0,77,6.2\n"  # noqa: E731
    return first + TMY3_HEADING + "\n" + hours(row)
