"""`seasonlog serve`: the whole app in a browser, for a tablet on the roof."""

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, by_option, log_option

if TYPE_CHECKING:
    from seasonlog.serve.listening import Certificate

NEEDS = 'The app in a browser needs the extra: pip install "seasonlog[serve]"'


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option("--port", type=click.IntRange(0, 65535), help="The port; 8023 unless said; 0 takes a free one.")
@click.option("--certificate", metavar="FILE", help="PEM file of the firm's certificate, with its chain.")
@click.option("--key", metavar="FILE", help="PEM file of its key, without a password.")
@click.option("--token", metavar="FILE", help="Keep the secret here (mode 600), so that browsers stay let in.")
@log_option
@by_option
@click.pass_obj
def serve(
    obj: Frame, host: str, port: int | None, certificate: str | None, key: str | None, token: str | None,
    log: str | None, by: str | None,
) -> int:  # fmt: skip
    """The app in a browser, on a tablet or phone.

    It prints an address that lets one browser in, once, and then the next one. Everything written is by --by NAME:
    start one server for each person.

    \b
    Over the network it wants a certificate that the tablet trusts, for the name the tablet uses:
      seasonlog serve --by NAME --host 0.0.0.0 --certificate roof.pem --key roof-key.pem
    roof.pem holds the certificate, then its chain, with the name in subjectAltName; the firm's own authority
    (its root) is installed on the tablet once.
    """  # noqa: D301  (click's mark)
    from seasonlog.errors import LogError, UsageError

    if not (by or os.environ.get("SEASONLOG_NAME", "")).strip():
        raise UsageError("Nobody is named: give --by NAME or set SEASONLOG_NAME; every entry will say so.")
    at = frame.places_of(obj, log)
    if not at.log.exists():
        raise LogError(f"there is no log at {at.log}; `seasonlog register import` begins one")
    return _serve(at.log.resolve(), frame.who_is(at, by), (host, port), _pair(certificate, key), token)


def _pair(certificate: str | None, key: str | None) -> "tuple[Path, Path] | None":
    from seasonlog.errors import UsageError

    if certificate and key:
        return Path(certificate), Path(key)
    if certificate or key:
        raise UsageError("--certificate FILE and --key FILE belong together; give both.")
    return None


def _serve(log: Path, who: str, where: tuple[str, int | None], pair: tuple[Path, Path] | None, kept: str | None) -> int:
    from seasonlog.errors import UsageError

    try:
        from seasonlog.serve.server import BrowserServer, Served
    except ImportError:
        raise UsageError(NEEDS) from None
    from seasonlog.serve.access import Access, kept_token, new_token
    from seasonlog.serve.listening import PORT, listen

    host, port = where
    token = kept_token(Path(kept)) if kept else new_token()
    ear = listen(host, PORT if port is None else port, _certificate(pair))
    served = Served(argv=_app(log, who), title=f"seasonlog: {who}", tell=frame.out, show_address=_address)
    frame.out(f"seasonlog serves {log} for {who}; Ctrl+C ends it.")
    BrowserServer(served, ear, Access(token, log, ear.port, tls=ear.tls is not None)).serve()
    return 0


def _certificate(pair: tuple[Path, Path] | None) -> "Certificate | None":
    from seasonlog.serve.listening import Certificate

    return Certificate(*pair) if pair else None


def _app(log: Path, who: str) -> list[str]:
    """The words that open the app: no shell reads them, and a name with a dash in front stays a name."""
    return [sys.executable, "-m", "seasonlog", f"--log={log}", f"--by={who}"]


def _address(address: str) -> None:
    """The address, and on a terminal as a code for the tablet's camera."""
    if frame.is_terminal() and address.startswith("https:"):
        import segno

        segno.make(address, micro=False).terminal(compact=True)
    frame.out(f"Open: {address}")
