"""What `hub guide` tells an administrator is what the server gets."""

import re
from importlib.resources import files

from seasonlog.cli.hub import hub
from seasonlog.hub import admin
from tests.cli.runner import seasonlog


def test_the_guide_names_every_role_table_and_command() -> None:
    text = seasonlog("hub", "guide").out
    made = "".join(admin.steps().values())
    tables = re.findall(r"CREATE TABLE (\w+)", made)
    assert "entry" in tables
    for name in (*tables, admin.OWNER, *(f"seasonlog_{role}" for role in admin.ROLES)):
        assert name in text
    told = set(re.findall(r"(?:seasonlog |`)hub (\w+)", text))
    assert told <= set(hub.commands)
    assert {"init", "admit", "join", "dismiss", "verify", "sync"} <= told


def test_the_guide_asks_for_what_the_trial_server_does() -> None:
    """The same settings in both: encrypted and by password, or not at all."""
    text = seasonlog("hub", "guide").out
    trial = (files("seasonlog.hub") / "trial.py").read_text("utf-8")
    for setting in ("password_encryption", "hostssl", "hostnossl", "scram-sha-256", "data-checksums", "log_statement"):
        assert setting in text
        assert setting in trial
