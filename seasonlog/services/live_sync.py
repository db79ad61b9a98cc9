"""Keeping in step with the hub while the app is open: at the start, after saves, when others push. Never in the way.

It runs in a thread of its own with connections of its own. Whatever goes wrong is a state to be shown, never a
question: without a link everything is kept here and goes when there is one again.
"""

import threading
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass, replace
from importlib.util import find_spec
from typing import TYPE_CHECKING, Any, Protocol

from seasonlog.errors import SeasonlogError
from seasonlog.hub import link, rows
from seasonlog.hub.link import Invitation
from seasonlog.services import sync
from seasonlog.services.days import moment
from seasonlog.services.logbook import Logbook

if TYPE_CHECKING:
    from psycopg import Connection

TICK_S = 1.0
"""How often it looks whether something was saved here."""
QUIET_TICKS = 3
"""So long nothing more was saved: what belongs together goes together."""
IDLE_TICKS = 300
"""Even when nobody says that there is news, it asks after so long: a link that died says nothing."""
FIRST_WAIT_S, LONGEST_WAIT_S = 1.0, 300.0
"""How long it waits after a link that failed: twice as long each time, up to the longest."""


class OpenHub(Protocol):
    """A hub that answers."""

    def exchange(self, folding: sync.Folding) -> sync.Synced:
        """Send and fetch what either side lacks."""
        ...

    def news(self, timeout_s: float) -> bool:
        """Wait so long at most until another device pushes."""
        ...


class Hub(Protocol):
    """The way to a hub, and what waits here."""

    def opened(self) -> AbstractContextManager[OpenHub]:
        """A link; raises HubError when there is none."""
        ...

    def saved(self) -> int:
        """How many entries are here."""
        ...

    def to_send(self) -> int:
        """How many of them the hub was not seen to hold."""
        ...


@dataclass(frozen=True, slots=True)
class LinkState:
    """How the log here and the hub stand."""

    linked: bool | None
    """None before the first try has ended."""
    at_ms: int
    """When they were last in step, or since when there is no link."""
    to_send: int = 0
    why: str = ""
    """Why there is no link, or what was not taken; empty when all is well."""
    folding_percent: int | None = None
    """How far the log is put in order anew, while that lasts and nothing can be saved."""

    def forms(self, offset: int) -> tuple[str, ...]:
        """In words, the longest first."""
        if self.folding_percent is not None:
            percent = f"{self.folding_percent} %"
            return f"hub: putting older entries in order, {percent}", f"hub: sorting, {percent}", f"hub {percent}"
        if self.linked is None:
            return "hub: looking", "hub"
        time = f"{moment(self.at_ms, offset):%H:%M}"
        if not self.linked:
            waits = f"{self.to_send} to send" if self.to_send else "nothing to send"
            return f"hub: {waits}, no link since {time}", f"hub: {waits}", f"hub {self.to_send}\N{UPWARDS ARROW}"
        if self.why:
            return f"hub: not all taken {time}", "hub: not all taken", "hub !"
        return f"hub: in step {time}", f"hub: {time}", "hub \N{CHECK MARK}"


@dataclass(frozen=True, slots=True)
class News:
    """Entries of other people that have just come in."""

    whose: tuple[str, ...]
    """Who wrote them, the latest first."""

    def forms(self) -> tuple[str, ...]:
        """In words, the longest first: `new entries from Halden Pruskett`."""
        first, *others = self.whose or ("another device",)
        more = f" and {len(others)} more" if others else ""
        short = first.split(" ")[0]
        return f"new entries from {first}{more}", f"new from {short}{more}", f"new: {short}", "new \N{DOWNWARDS ARROW}"


class LiveSync:
    """The loop.

    Args:
        hub: The way to it.
        told: Called with every new state, on the loop's own thread.
        wall_ms: The clock.
        pause: Sleeps so many seconds; true when it was woken to stop. Tests hand in their own.
        arrived: Called when entries of others have come in, on the loop's own thread.
        may_fold: Whether the whole log may be put in order now, which lets nobody save for some seconds.
    """

    def __init__(
        self,
        hub: Hub,
        told: Callable[[LinkState], object],
        wall_ms: Callable[[], int],
        pause: Callable[[float], bool] | None = None,
        arrived: Callable[[News], object] | None = None,
        may_fold: Callable[[], bool] = lambda: True,
    ) -> None:
        self._hub, self._told, self._wall_ms = hub, told, wall_ms
        self._stop = threading.Event()
        self._pause = pause or self._stop.wait
        self._arrived = arrived
        self._folding = sync.Folding(may_fold, self._fold_told, self._fold_ended)
        self._woken = threading.Event()
        self._thread = threading.Thread(target=self.run, name="hub", daemon=True)
        self._wait_s = FIRST_WAIT_S
        self._state = LinkState(None, 0)
        self._known = 0

    def start(self) -> None:
        """Begin, on a thread of its own."""
        self._thread.start()

    def wake(self) -> None:
        """Exchange now where there is a link: what had to wait may go on."""
        self._woken.set()

    def stop(self, timeout_s: float = 3.0) -> None:
        """End soon; what is being sent is repeated next time."""
        self._stop.set()
        if self._thread.is_alive():
            self._thread.join(timeout_s)

    def run(self) -> None:
        """Until it is stopped: a link, or a wait for the next try."""
        self._tell(self._state)
        while not self._stop.is_set():
            try:
                with self._hub.opened() as hub:
                    self._while_linked(hub)
            except (SeasonlogError, OSError) as error:
                if self._stop.is_set():
                    return
                self._lost(str(error))
                self._sit_out()

    def _while_linked(self, hub: OpenHub) -> None:
        while not self._stop.is_set():
            done = hub.exchange(self._folding)
            self._wait_s = FIRST_WAIT_S
            self._known = self._hub.saved()
            why = " ".join(done.complaints)
            self._tell(LinkState(True, self._wall_ms(), self._hub.to_send(), why))
            if done.pulled and self._arrived is not None:
                self._arrived(News(done.whose))
            self._until_something_happens(hub)

    def _until_something_happens(self, hub: OpenHub) -> None:
        """News on the hub, something saved here some seconds ago, or a long time gone by."""
        last, quiet = self._known, 0
        for _ in range(IDLE_TICKS):
            if self._stop.is_set() or hub.news(TICK_S) or self._woken.is_set():
                self._woken.clear()
                return
            count = self._hub.saved()
            quiet = quiet + 1 if count == last else 0
            last = count
            if count != self._known and quiet >= QUIET_TICKS:
                return

    def _fold_told(self, done: int, total: int) -> None:
        self._tell(replace(self._state, folding_percent=100 * done // max(total, 1)))

    def _fold_ended(self) -> None:
        self._tell(replace(self._state, folding_percent=None))

    def _lost(self, why: str) -> None:
        since = self._state.at_ms if self._state.linked is False else self._wall_ms()
        self._tell(LinkState(False, since, self._hub.to_send(), why))

    def _sit_out(self) -> None:
        """Wait for the next try; what is saved meanwhile is counted."""
        left = self._wait_s
        self._wait_s = min(2 * self._wait_s, LONGEST_WAIT_S)
        while left > 0 and not self._pause(min(TICK_S, left)):
            left -= TICK_S
            self._tell(replace(self._state, to_send=self._hub.to_send()))

    def _tell(self, state: LinkState) -> None:
        if state != self._state or state.linked is None:
            self._state = state
            self._told(state)


class RealHub:
    """A log's hub, by the invitation kept for it.

    Args:
        book: The log of the app; only its paths, clock and person are used here.
        invitation: The way.
    """

    def __init__(self, book: Logbook, invitation: Invitation) -> None:
        self._places, self._around, self._who = book.places, book.around, book.who
        self._invitation = invitation

    @contextmanager
    def opened(self) -> Iterator[OpenHub]:
        """A connection that is told when somebody pushes."""
        with link.connected(self._invitation) as listening:
            rows.listen(listening)
            yield _Listening(self, listening)

    def exchange(self, folding: sync.Folding) -> sync.Synced:
        """On a connection of its own: what is pulled is read and written at its own pace."""
        with Logbook.open(self._places, self._around, self._who, writing=True) as book:
            return sync.sync(book, self._invitation, folding=folding)

    def saved(self) -> int:
        """The newest entry's number in this file."""
        with self._reading() as book:
            return book.journal.count()

    def to_send(self) -> int:
        """Of the device's own entries; of all, for a supervisor."""
        with self._reading() as book:
            return sync.to_send(book, self._invitation)

    def _reading(self) -> Logbook:
        return Logbook.open(self._places, self._around, self._who, writing=False)


class _Listening:
    """A hub that answers."""

    def __init__(self, hub: RealHub, connection: "Connection[Any]") -> None:
        self._hub, self._connection = hub, connection

    def exchange(self, folding: sync.Folding) -> sync.Synced:
        return self._hub.exchange(folding)

    def news(self, timeout_s: float) -> bool:
        return rows.news(self._connection, self._hub._invitation.log, timeout_s)


def hub_of(book: Logbook) -> RealHub | None:
    """The hub of a log, where it has one and the driver is installed; nothing is loaded or connected yet."""
    if find_spec("psycopg") is None or not link.kept_at(book.places.hub, book.journal.log_id).is_file():
        return None
    try:
        invitation = link.kept(book.places.hub, book.journal.log_id)
    except (SeasonlogError, OSError, ValueError):
        return None
    return RealHub(book, invitation) if invitation else None
