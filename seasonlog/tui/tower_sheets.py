"""The sheets of a tower's page: what to do about a visit that is due, a note, another winter mode."""

from typing import TYPE_CHECKING

from textual.content import Content

from seasonlog.domain.register_records import SPECS
from seasonlog.services import claims, register, rounds, season
from seasonlog.services.days import typed_day
from seasonlog.services.figures import typed_degf
from seasonlog.tui import starting
from seasonlog.tui.screens.choose import ChooseSheet
from seasonlog.tui.screens.form import Asked, FormSheet, Line, Typed
from seasonlog.tui.tower_page import START
from seasonlog.tui.widgets.row import Row
from seasonlog.tui.wording import CALM, Look, plain, say

if TYPE_CHECKING:
    from seasonlog.tui.screens.tower import TowerScreen

PLAN = Look("○", "PLAN", "cold")
DROP = Look("–", "DROP", "near-fail")


def start(screen: "TowerScreen", checklist: str) -> None:
    """Start a visit: of this checklist, or of one still to be chosen."""
    if checklist:
        starting.choose_instruments(screen, screen.tower, checklist)
    elif screen.view is not None:
        starting.choose_checklist(screen, screen.tower, screen.view.due)


def due(screen: "TowerScreen", checklist: str) -> None:
    """A visit that is due: start it, plan it for another day, or drop it."""
    shown = [
        Row("start", Content("Start it now"), look=START),
        Row("move", Content("Plan it for another day"), Content("its last sensible day stays"), look=PLAN),
        _claim_row(screen, checklist),
        Row("drop", Content("Drop it"), Content("with a reason; it stays in the record"), look=DROP),
    ]

    def chosen(key: str | None) -> None:
        if key == "start":
            start(screen, checklist)
        elif key == "claim":
            screen.claim(checklist)
        elif key == "give_up":
            screen.give_up(checklist)
        elif key == "move":
            _move(screen, season.DueRequest(screen.tower, checklist))
        elif key == "drop":
            _drop(screen, season.DueRequest(screen.tower, checklist))

    screen.app.push_screen(ChooseSheet(say(f"{screen.tower} · {plain(checklist)}"), shown), chosen)


def _claim_row(screen: "TowerScreen", checklist: str) -> Row:
    if any(each.is_mine and each.key.checklist == checklist for each in claims.standing(screen.book, screen.tower)):
        return Row(
            "give_up", Content("Give your claim up"), Content("tell the others that you do not make it"), look=DROP
        )
    return Row("claim", Content("Claim it"), Content("tell the others that you make it"), look=PLAN)


def _move(screen: "TowerScreen", wanted: season.DueRequest) -> None:
    def save(typed: Typed) -> None:
        season.move(screen.book, wanted, typed_day(typed["to"], "day"), typed["because"], screen.today)

    lines = [Line("to", "Day, YYYY-MM-DD"), Line("because", "Reason")]
    asked = Asked(f"Plan {plain(wanted.checklist)} for another day")
    screen.app.push_screen(FormSheet(asked, lines, save), screen.when_done(screen.load))


def _drop(screen: "TowerScreen", wanted: season.DueRequest) -> None:
    def save(typed: Typed) -> None:
        season.drop(screen.book, wanted, typed["because"], screen.today)

    asked = Asked(f"Drop {plain(wanted.checklist)}", "Nobody will be asked for it again this season.", "DROP IT")
    screen.app.push_screen(FormSheet(asked, [Line("because", "Reason")], save), screen.when_done(screen.load))


def note(screen: "TowerScreen") -> None:
    """Words for whoever comes next."""

    def save(typed: Typed) -> None:
        rounds.add_note(screen.book, screen.tower, typed["text"])

    asked = Asked(f"Note about {screen.tower}", "It stays in the record under your name, and shows in the handover.")
    screen.app.push_screen(FormSheet(asked, [Line("text", "Note")], save), screen.when_done(screen.load))


def outdoor(screen: "TowerScreen") -> None:
    """An outdoor temperature to ask the heat's figures at; nothing goes into the record."""
    units = screen.view.register.site_of(screen.tower).units if screen.view else "us"
    unit = "°C" if units == "si" else "°F"

    def save(typed: Typed) -> None:
        screen.ask_outdoor(typed_degf(typed["outdoor"], units))

    asked = Asked(f"{screen.tower}: outdoor temperature", "Heat and hours to freeze are worked out for it.", "WORK OUT")
    screen.app.push_screen(FormSheet(asked, [Line("outdoor", f"Outdoor air, {unit}")], save))


def winter(screen: "TowerScreen") -> None:
    """How the tower winters from a day on."""
    now = screen.view.mode if screen.view else ""
    modes = SPECS["tower"]["winter"].choices
    shown = [Row(m, say(plain(m)), Content("as it is now" if m == now else ""), look=CALM) for m in modes]
    words = "A change to a wet mode inside the season makes the fall enable due again at once."

    def chosen(mode: str | None) -> None:
        if mode:
            _winter(screen, mode)

    screen.app.push_screen(ChooseSheet(say(f"{screen.tower} winters as ..."), shown, words), chosen)


def _winter(screen: "TowerScreen", mode: str) -> None:
    def save(typed: Typed) -> None:
        since = typed_day(typed["since"], "since")
        register.set_winter_mode(screen.book, screen.tower, mode, since, typed["because"])

    lines = [Line("since", "Since which day, YYYY-MM-DD", screen.book.today().isoformat()), Line("because", "Reason")]
    asked = Asked(f"{screen.tower}: {plain(mode)}")
    screen.app.push_screen(FormSheet(asked, lines, save), screen.when_done(screen.load))
