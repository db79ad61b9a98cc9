"""A process that appends notes to a log and says after each COMMIT which one is saved. Run with python -m.

python -m tests.journal.appender LOG COUNT [PREFIX]
"""

import secrets
import sys
from pathlib import Path

from seasonlog.errors import LogError
from seasonlog.journal.clock import SystemClock
from seasonlog.journal.store import Journal
from seasonlog.journal.stored import Draft
from seasonlog.journal.views import LogViews


def main(log: str, count: str, prefix: str = "entry") -> int:
    path = Path(log)
    with Journal.open(
        path, keys_dir=path.parent / "keys", clock=SystemClock(), random_bytes=secrets.token_bytes, views=LogViews()
    ) as journal:
        print("open", flush=True)
        for number in range(int(count)):
            uid = f"{prefix}-{number}"
            body = {"visit": "", "tower": "HOS-1", "step": "", "text": f"note {number}"}
            try:
                journal.append([Draft("note_added", body, "Ada Example", uid)])
                print("saved", uid, flush=True)
            except LogError as error:
                print("refused", uid, error, flush=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(*sys.argv[1:]))
