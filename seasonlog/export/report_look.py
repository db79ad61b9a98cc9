"""The colours of a report, on screen and paper. A test holds each against its ground by the formula of WCAG 2."""

from collections.abc import Mapping

INKS: Mapping[str, str] = {
    "ink": "#1b2733",  # words
    "soft": "#4a5866",  # words that come second
    "faint": "#c9d2da",  # rules and axes
    "ground": "#ffffff",
    "panel": "#f3f6f8",  # heads of tables, boxes
    "accent": "#17496f",  # headings, what is measured
    "pass": "#17663a", "pass_ground": "#e4f3e9",
    "near": "#7a4b00", "near_ground": "#fdf1d8",
    "unsure": "#54428f", "unsure_ground": "#eeebf8",
    "bad": "#a1151f", "bad_ground": "#fce8e8",
    "calm": "#46535f", "calm_ground": "#eceff2",
    "frost": "#2f75b5",  # weeks in which it may freeze; a shade behind words
}  # fmt: skip
"""Name to colour, as #rrggbb."""
WORDS_ON: tuple[tuple[str, str], ...] = (
    ("ink", "ground"), ("ink", "panel"), ("soft", "ground"), ("soft", "panel"), ("accent", "ground"),
    ("accent", "panel"),
    *((tone, ground) for tone in ("pass", "near", "unsure", "bad", "calm") for ground in ("ground", f"{tone}_ground")),
    *(("ink", f"{tone}_ground") for tone in ("pass", "near", "unsure", "bad", "calm")),
)  # fmt: skip
"""Which words stand on which ground."""
