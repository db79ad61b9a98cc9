"""`seasonlog plan` as a script calls it: draft, publish, show, replan, and the calendars that follow."""

from pathlib import Path

import pytest
from icalendar import Calendar

from seasonlog import resources
from tests.cli.runner import Ran, seasonlog
from tests.export.calendar_readers import facts_by_icalendar, facts_by_vobject
from tests.services.plan_samples import PLAN

BY = "Halden Pruskett"
ON = ("--today", "2026-08-20")


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A log with the sample sites, and a plan file beside it."""
    folder = tmp_path_factory.mktemp("plan")
    (folder / "plan.toml").write_text(PLAN)
    assert seasonlog("register", "import", Path(str(resources.sample_sites())), home=folder, name=BY).code == 0
    return folder


def plan(home: Path, *words: str) -> Ran:
    return seasonlog("plan", *words, home=home, name=BY)


def test_a_season_from_draft_to_calendar(home: Path) -> None:
    """One log, told in order: each step sees what the step before it left."""
    file = str(home / "plan.toml")
    assert "--file" in plan(home, *ON).err
    assert plan(home, "show", *ON).code == 2
    assert plan(home, "publish", *ON).code == 2

    draft = plan(home, "--file", file, *ON, "--json")
    assert draft.code == 1  # nobody can reach the ice rink
    found = draft.json
    assert (found["state"], found["by"], found["broken_rules"]) == ("draft", "greedy", [])
    visits = [v for day in found["days"] for v in day["visits"]]
    assert {v["tower"] for v in visits if v["site"] == "HOS"} == {f"HOS-{n}" for n in range(1, 7)}
    assert all(v["late"] or day["day"] <= v["due"] for day in found["days"] for v in day["visits"])
    assert {"access", "permits", "travel_minutes", "start", "finish"} <= visits[0].keys()
    assert all(left["reason"] for left in found["left_out"])
    assert "planned for" not in seasonlog("due", *ON, home=home).out

    words = plan(home, "--file", file, *ON)
    assert "access: Roof hatch in stair 4" in words.out
    assert "NOBODY HAS" in words.out
    assert "plan publish" in words.err

    told = plan(home, "publish", *ON, "--json")
    assert told.json["planned"] == len(visits)
    assert "Nothing is new" in plan(home, "publish", "--file", file, *ON).err
    due = seasonlog("due", *ON, "--site", "HOS", home=home).out
    assert due.count("planned for 2026-") == 6
    days = {v["tower"]: day["day"] for day in found["days"] for v in day["visits"] if v["checklist"] == "fall-enable"}
    as_json = seasonlog("due", *ON, "--site", "HOS", "--json", home=home).json
    assert {i["tower"]: i["planned"] for i in as_json} == {t: d for t, d in days.items() if t.startswith("HOS")}

    show = plan(home, "show", *ON, "--json").json
    assert (show["state"], show["days"], show["broken_rules"]) == ("published", found["days"], [])
    mine = plan(home, "show", *ON, "--person", "Mirel Oduvane", "--json").json
    assert {day["person"] for day in mine["days"]} == {"mirel"}

    before = calendar(home, "--technician", "mirel")
    hour = plan(home, "replan", "--away", "Mirel Oduvane:2026-08-20@12:00..2026-09-30", *ON, "--json").json
    assert {day["day"] for day in hour["days"] if day["person"] == "mirel"} <= {"2026-08-20"}
    away = plan(home, "replan", "--away", "Mirel Oduvane:2026-08-20..2026-09-30", "--because", "ill", *ON, "--json")
    assert away.json["moved"]
    assert all(day["person"] != "mirel" for day in away.json["days"])
    assert plan(home, "publish", *ON).code == 1
    after = calendar(home, "--technician", "mirel")
    assert {uid for uid, *_ in after} == {uid for uid, *_ in before}
    assert {status for *_, status, _ in before} == {"CONFIRMED"}
    assert {status for *_, status, _ in after} == {"CANCELLED"}
    assert all(a[1] > b[1] for a, b in zip(sorted(after), sorted(before), strict=True))
    assert {status for *_, status, _ in calendar(home, "--site", "HOS")} <= {"CONFIRMED", "TENTATIVE"}

    added = plan(home, "replan", "--add", "HOS-1:cold-snap:2026-08-27..2026-08-28", *ON, "--publish", "--by", BY)
    assert "Published: 1 visit with" in added.err
    assert "cold-snap" in seasonlog("due", *ON, "--all", "--tower", "HOS-1", home=home).out
    assert seasonlog("verify", home=home).out.startswith("OK")
    assert seasonlog("rebuild", home=home).code == 0
    assert plan(home, "show", *ON).code == 1


def test_a_calendar_of_somebody_without_a_visit_names_who_has_one(home: Path) -> None:
    """After the season above was planned."""
    nobody = seasonlog("calendar", *ON, "-o", home / "none.ics", "--technician", "No One", home=home)
    assert nobody.code == 3
    assert "has nothing in the published plan; in it: " in nobody.err
    assert "Mirel Oduvane" in nobody.err


def calendar(home: Path, *words: str) -> list[tuple[str, int, str, int]]:
    """The events as two independent readers tell them."""
    file = home / "season.ics"
    assert seasonlog("calendar", "-o", file, *ON, *words, home=home).code == 0
    data = file.read_bytes()
    assert facts_by_icalendar(data) == facts_by_vobject(data)
    assert Calendar.from_ical(data).events
    return facts_by_icalendar(data)


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--file", "missing.toml"), 2, "cannot be read"),
        (("--days", "0"), 2, "1<=x<=400"),
        (("--from", "tomorrow"), 2, "is not a day"),
        (("--seconds", "-1"), 2, "0<=x<=3600"),
        (("replan", "--away", "Mirel"), 2, "NAME:DATE"),
        (("replan", "--away", "Mirel:2026-08-20@25:00"), 2, "NAME:DATE@HH:MM"),
        (("replan", "--away", "Mirel:2026-09-05..2026-09-01"), 2, "go forward"),
        (("replan", "--add", "HOS-1"), 2, "TOWER:CHECKLIST"),
        (("show", "--person", "x"), 2, "No plan is published"),
    ],
)
def test_what_makes_no_sense_is_told(tmp_path: Path, words: tuple[str, ...], code: int, says: str) -> None:
    assert seasonlog("register", "import", Path(str(resources.sample_sites())), home=tmp_path, name=BY).code == 0
    ran = plan(tmp_path, *words)
    assert (ran.code, says in ran.err, "Traceback" in ran.err) == (code, True, False)


def test_a_wrong_file_is_refused_whole_and_nothing_is_kept(tmp_path: Path) -> None:
    assert seasonlog("register", "import", Path(str(resources.sample_sites())), home=tmp_path, name=BY).code == 0
    wrong = tmp_path / "wrong.toml"
    wrong.write_text(PLAN.replace('base = "lake"', 'base = "sea"', 1).replace("other = 60", "other = 0"))
    ran = plan(tmp_path, "publish", "--file", str(wrong), *ON)
    assert ran.code == 3
    assert "wrong.toml, line 16, person.base" in ran.err
    assert "wrong.toml, line 28, minutes.other" in ran.err
    assert not (tmp_path / "plan-draft.json").exists()
    assert plan(tmp_path, "publish", *ON).code == 2
