"""Photos and sound clips: kept beside the log by hash, named by an entry, given up only by an entry that says why."""

from seasonlog.journal.blobs import Blobs
from seasonlog.services.places import Places


def store(at: Places) -> Blobs:
    """The folder of photos and clips of a log."""
    return Blobs(at.attachments)
