"""The dialogue of `seasonlog fault`, for two people on the telephone: one question at a time."""

import shutil
import textwrap
from collections.abc import Callable

from seasonlog.cli import fault_words as words
from seasonlog.cli import frame
from seasonlog.errors import InputRefusedError
from seasonlog.faults.observation import Check, Choice, Stop
from seasonlog.services import fault_finding_report as report
from seasonlog.services.fault_finding import WHO_ANSWERS, WHO_WHY, Search

HELP = "Also: undo, cannot (this test cannot be made here), why, causes, quit."
READ = "Read the caution out. Type yes when it is understood and holds; cannot, if it does not."
YES = ("yes", "y")


class Talk:
    """One conversation."""

    def __init__(self, search: Search, hear: Callable[[], str]) -> None:
        """A conversation about to begin.

        Args:
            search: What is known so far.
            hear: Waits for one line.
        """
        self.search = search
        self._hear = hear
        self._over = False

    def run(self) -> Stop | None:
        """Ask until there is nothing more to ask; None when somebody quits."""
        self._tell(f"{self.search.tower}, circuit {self.search.circuit.id}. {HELP}")
        for each in self.search.circuit.assumed:
            self._tell(f"assumed: {each}")
        while not self._over:
            if self.search.asks_who:
                self._ask_who()
                continue
            found = self.search.next()
            if isinstance(found, Stop):
                if self._end(found):
                    return found
            else:
                self._ask(found)
        return None

    def _tell(self, line: str) -> None:
        """One line, broken where the terminal ends."""
        margin = " " * (len(line) - len(line.lstrip()))
        width = shutil.get_terminal_size().columns - 1
        for part in textwrap.wrap(line, max(width, 30), subsequent_indent=f"{margin}  ") or [""]:
            frame.out(part)

    def _line(self) -> str:
        return self._hear().strip()

    def _ask_who(self) -> None:
        for line in words.who():
            self._tell(line)
        typed = self._line()
        keys = list(WHO_ANSWERS)
        if typed in ("1", "2"):
            typed = keys[int(typed) - 1]
        if typed in keys:
            self.search = self.search.at_the_panel(typed)
        elif not self._command(typed, None, WHO_WHY):
            self._tell("Answer 1 or 2.")

    def _ask(self, found: Choice) -> None:
        check = found.test
        self._tell("")
        self._tell(f"[{report.way(check)}] {report.once_more(self.search, check)}{report.test_words(check)}")
        if self._caution_stands(check, found) and self._answer(check, found):
            self._tell(f"noted: {report.evidence(self.search)[-1]}" if self.search.session.observations else "noted")

    def _caution_stands(self, check: Check, found: Choice) -> bool:
        """The caution was read; False when something else was said instead."""
        caution = self.search.caution(check)
        if caution:
            self._tell(f"CAUTION: {caution}")
        if not self.search.must_be_read(check):
            return True
        while not self._over:
            self._tell(READ)
            typed = self._line()
            if typed.casefold() in YES:
                return True
            before = self.search
            if self._command(typed, check, found.why) and self.search is not before:
                return False
        return False

    def _answer(self, check: Check, found: Choice) -> bool:
        """An answer was taken; False when something else was said instead."""
        self._tell(check.do)
        for line in words.numbered(each.replace("_", " ") for each in check.choices):
            self._tell(line)
        while not self._over:
            if not check.choices:
                self._tell(f"In {check.unit}{', or OL' if check.unit == 'ohm' else ''}:")
            typed = self._line()
            before = self.search
            if self._command(typed, check, _why(found)):
                if self.search is not before:
                    return False
            elif self._take(check, typed):
                return True
        return False

    def _take(self, check: Check, typed: str) -> bool:
        try:
            self.search = self.search.answered(check.id, typed)
        except InputRefusedError as refused:
            says = refused.problems[0].says.replace("_", " ") if typed else "Nothing was typed"
            self._tell(f"{says}. {HELP}")
            return False
        return True

    def _command(self, typed: str, check: Check | None, why: str) -> bool:
        """Was it something else than an answer."""
        word = typed.casefold()
        if word == "quit":
            self._over = True
            self._tell("Left. Nothing was written.")
        elif word == "undo":
            self._undo()
        elif word == "cannot" and check is not None:
            self.search = self.search.cannot(check.id)
            self._tell("Not asked again.")
        elif word == "why":
            self._tell(why)
        elif word == "causes":
            for line in words.causes(self.search):
                self._tell(line)
        else:
            return False
        return True

    def _undo(self) -> None:
        if self.search.before is None:
            self._tell("There is nothing to take back.")
            return
        self.search = self.search.undone()
        self._tell("The last answer is taken back.")

    def _end(self, stop: Stop) -> bool:
        """Tell the end; False when the last answer was taken back instead."""
        self._tell("")
        self._tell("what was seen:")
        for each in report.evidence(self.search):
            self._tell(f"  {each}")
        self._tell("what it may be:")
        for line in (*words.causes(self.search), *words.end(self.search, stop)):
            self._tell(line)
        while not self._over:
            self._tell("Enter to finish, undo to take the last answer back, causes, or quit.")
            typed, before = self._line(), self.search
            if not typed:
                return True
            if self._command(typed, None, stop.says) and self.search is not before:
                return False
        return False


def _why(found: Choice) -> str:
    answers = "; ".join(f"{each.answer.replace('_', ' ')}: {each.means}" for each in found.outcomes)
    return f"{found.why} What each answer would leave: {answers}."
