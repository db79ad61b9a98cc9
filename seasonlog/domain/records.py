"""What can be written down: the kinds of entry and what each one's body holds.

Everything known is a fold of these. A body holds text, whole numbers, booleans, lists and mappings; never a
float: readings stay the decimal text that was typed. A new kind is one member here, one line in `FIELDS` and one
handler in the views.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from seasonlog.errors import SeasonlogError


class Kind(StrEnum):
    """Past-tense names of what happened."""

    LOG_STARTED = "log_started"
    DEVICE_JOINED = "device_joined"
    REGISTER_RECORDED = "register_recorded"
    REGISTER_RETIRED = "register_retired"
    CHECKLIST_RECORDED = "checklist_recorded"
    VISIT_STARTED = "visit_started"
    INSTRUMENT_CHOSEN = "instrument_chosen"
    STEP_ANSWERED = "step_answered"
    STEP_SKIPPED = "step_skipped"
    NOTE_ADDED = "note_added"
    TEMPORARY_CHANGE_MADE = "temporary_change_made"
    TEMPORARY_CHANGE_RESTORED = "temporary_change_restored"
    VISIT_SIGNED = "visit_signed"
    VISIT_CLOSED = "visit_closed"
    FAULT_FOUND = "fault_found"
    FINDING_ASSIGNED = "finding_assigned"
    FINDING_MEASURE_TAKEN = "finding_measure_taken"
    FINDING_PART_NOTED = "finding_part_noted"
    FINDING_ACCEPTED = "finding_accepted"
    FINDING_CLOSED = "finding_closed"
    WINTER_MODE_SET = "winter_mode_set"
    DUE_MOVED = "due_moved"
    DUE_DROPPED = "due_dropped"
    PLAN_BASIS_RECORDED = "plan_basis_recorded"
    VISIT_PLANNED = "visit_planned"
    VISIT_UNPLANNED = "visit_unplanned"
    VISIT_CLAIMED = "visit_claimed"
    CLIMATE_IMPORTED = "climate_imported"
    COLD_SNAP_RAISED = "cold_snap_raised"
    ATTACHED = "attached"
    ATTACHMENT_ERASED = "attachment_erased"
    DETAIL_DISCARDED = "detail_discarded"
    RECORDING_ALLOWED = "recording_allowed"
    REPAIR_ANSWERED = "repair_answered"
    INSTRUMENT_CHECKED = "instrument_checked"
    INSTRUMENT_RECALLED = "instrument_recalled"
    RECALL_REVIEWED = "recall_reviewed"
    DEVICE_ENROLLED = "device_enrolled"
    DEVICE_REVOKED = "device_revoked"
    FORK_FOUND = "fork_found"
    HANDOVER_READ = "handover_read"
    SEASON_REVIEWED = "season_reviewed"


FIELDS: dict[Kind, dict[str, str]] = {
    Kind.LOG_STARTED: {
        "key": "public key of the device, hex",
        "demonstration": "true when the log holds invented history",
        "software": "version that made it",
    },
    Kind.DEVICE_JOINED: {"key": "public key of the device, hex"},
    Kind.REGISTER_RECORDED: {"what": "record type", "id": "its id", "item": "all its fields", "because?": "reason"},
    Kind.REGISTER_RETIRED: {"what": "record type", "id": "its id", "because": "reason"},
    Kind.CHECKLIST_RECORDED: {"id": "checklist id", "sha256": "hash of its bytes", "text": "the file, whole"},
    Kind.VISIT_STARTED: {
        "visit": "id of the visit",
        "tower": "tower id",
        "checklist": "checklist id",
        "sha256": "hash of the checklist's bytes",
        "season": "first year of the season",
        "ordinal": "which visit of its kind in the season, from 1",
        "practice": "hash of the table of common-practice constants",
        "qualified": "was the person on record as qualified for energised work on the day",
        "observed_on?": "entered late from paper: the day it was made, by the site's clock",
    },
    Kind.INSTRUMENT_CHOSEN: {
        "visit": "visit id",
        "kind": "clamp, voltmeter ...",
        "instrument": "instrument id",
        "in_calibration": "on the day",
        "doubt?": "why its readings prove nothing, as whoever chose it was told",
    },
    Kind.STEP_ANSWERED: {
        "visit": "visit id",
        "tower": "tower id",
        "step": "step key in the visit",
        "step_id": "step id in the checklist",
        "target": "circuit, basin, trace or source the step is about, or empty",
        "raw": "as typed or said: text or a list of texts",
        "value": "decimal text, a word, or a list of decimal texts",
        "unit": "unit of the value",
        "quantity": "what was measured, or empty",
        "verdict": "pass, near_pass, near_fail, fail or cannot_tell",
        "says": "the verdict in words",
        "limits": "the limits it was judged by: low, high, pass and fail edges, basis, source, formula",
        "instrument": "instrument id, or empty",
        "rests_on?": "readings its limit was worked from: list of uid, visit, day, step, instrument, says",
        "finding?": "when it failed: severity, title, parts, unprotected, causes? (cause, where, fit, says, next_test)",
        "note?": "words beside the answer",
        "corrects?": "uid of the entry this one corrects",
        "because?": "why it is corrected",
        "decides?": "uids of the answers between which a supervisor decides with this one",
        "observed_at?": "entered late from paper: when it was read, local time with its offset",
        "from_paper?": "who filled in the paper",
        "unqualified?": "true for energised work by a person not on record as qualified on the day",
        "retest?": "true when answered again after a repair",
        "ahead_of?": "reported from a file: gate steps not answered yet when this was saved",
        "heard?": "given as a phrase: text, tier (sure, confirmed, typed), engine, model, clips? (names of sound)",
    },
    Kind.STEP_SKIPPED: {
        "visit": "visit id",
        "tower": "tower id",
        "step": "step key",
        "because": "reason",
        "observed_at?": "entered late from paper: when it was left out, local time with its offset",
        "from_paper?": "who filled in the paper",
        "takes_back?": "uid of the answer that is taken back by this",
        "heard?": "given as a phrase: text, tier, engine, model, clips?",
    },
    Kind.NOTE_ADDED: {
        "visit": "visit id or empty",
        "tower": "tower id",
        "step": "step key or empty",
        "text": "note",
        "heard?": "dictated, the text is as heard: text, tier, engine, model, clips?",
    },
    Kind.TEMPORARY_CHANGE_MADE: {
        "visit": "visit id",
        "tower": "tower id",
        "change": "id of the change",
        "what": "jumper, lifted wire, bulb out, dial moved, lock on, valve shut, other",
        "where": "in words",
    },
    Kind.TEMPORARY_CHANGE_RESTORED: {"visit": "visit id", "tower": "tower id", "change": "id of the change"},
    Kind.VISIT_SIGNED: {
        "visit": "visit id",
        "meaning": "done_by, reviewed_by or received_by",
        "name": "who, or not available, or declined",
        "words": "words given, or empty",
        "record?": "hash of the entry that started the visit: the record it signs, and no other",
        "signs?": "hash of the meaning, the name and every answer as it stood (services.signing)",
    },
    Kind.VISIT_CLOSED: {
        "visit": "visit id",
        "outcome": "complete, incomplete or not_possible",
        "because": "reason, empty when complete",
        "observed_on?": "entered late from paper: the day it was made, by the site's clock",
    },
    Kind.FAULT_FOUND: {
        "search": "id of the search",
        "visit": "visit whose answers were evidence, or empty",
        "tower": "tower id",
        "circuit": "heater circuit that was asked about",
        "step": "step key of the retest that closes it",
        "step_id": "its step id in the checklist",
        "target": "circuit or basin that step is about, or empty",
        "says": "what explains what was seen, and the evidence, in words",
        "evidence": "list of tests and their answers, in words",
        "repair": "what to do, in words",
        "retest": "list of step ids that prove the repair",
        "finding": "severity, title, parts, unprotected, causes (cause, where, fit, says, next_test)",
        "at_panel?": "who stood at the panel, where it was said: it may be somebody else than who typed",
    },
    Kind.FINDING_ASSIGNED: {"finding": "finding id", "to": "person", "due": "date or empty"},
    Kind.FINDING_MEASURE_TAKEN: {
        "finding": "finding id",
        "measure": "drained and locked, pump kept running, portable heat, watch ...",
        "told": "who was told",
        "told_at": "when, as said",
    },
    Kind.FINDING_PART_NOTED: {
        "finding": "finding id",
        "part": "what",
        "stage": "ordered, promised or fitted",
        "on": "date",
    },
    Kind.FINDING_ACCEPTED: {
        "finding": "finding id",
        "by": "supervisor",
        "customer": "the customer's decision-maker",
        "until": "end date; it reopens after it",
        "because": "reason",
    },
    Kind.FINDING_CLOSED: {"finding": "finding id", "because": "what was done"},
    Kind.WINTER_MODE_SET: {"tower": "tower id", "mode": "how it winters since", "since": "date", "because": "reason"},
    Kind.DUE_MOVED: {
        "tower": "tower id",
        "checklist": "checklist id",
        "season": "first year",
        "ordinal": "from 1",
        "to": "date",
        "because": "reason",
    },
    Kind.DUE_DROPPED: {
        "tower": "tower id",
        "checklist": "checklist id",
        "season": "first year",
        "ordinal": "from 1",
        "because": "reason",
    },
    Kind.PLAN_BASIS_RECORDED: {
        "text": "the plan file, whole",
        "away": "list of person id, first and last day, minute of the first if not from its start: taken out since",
    },
    Kind.VISIT_PLANNED: {
        "tower": "tower id",
        "checklist": "checklist id",
        "season": "first year",
        "ordinal": "from 1",
        "person": "register id of whoever makes it",
        "day": "date",
        "start_minute": "start of work, whole minutes after midnight, local to the site",
        "minutes": "how long it takes",
        "first_day": "first day on which it may be made, as known then",
        "last_day": "last one",
        "because": "why it was planned so, or empty",
        "added?": "what it is for, of a visit that no window asked for",
    },
    Kind.VISIT_UNPLANNED: {
        "tower": "tower id",
        "checklist": "checklist id",
        "season": "first year",
        "ordinal": "from 1",
        "first_day": "first day on which it may be made, as known then",
        "last_day": "last one",
        "because": "why nobody has it",
        "added?": "what it is for, of a visit that no window asked for",
    },
    Kind.VISIT_CLAIMED: {
        "tower": "tower id",
        "checklist": "checklist id",
        "season": "first year",
        "ordinal": "from 1",
        "given_up?": "true when whoever claimed it does not make it after all",
    },
    Kind.CLIMATE_IMPORTED: {
        "site": "site id",
        "used": "whose dates count: basis, threshold_degf, first, last (of 10 %), error, because",
        "files": "list of what, name and sha256 of each file",
        "station": "id, name, latitude_deg and longitude_deg of the record's station; empty where not told",
        "published_station": "id and name of the station of published normals, or empty",
        "period": "first_day, last_day, first_season, last_season, seasons of the record; empty without one",
        "first_month": "month a season begins in: 8, south of the equator 2",
        "thresholds": "list: threshold_degf, then first and last: seasons, dates of 10, 50, 90 %, error, chance",
        "coldest?": "begins, ends and mean_degf of the coldest days",
        "seed": "start of the random draw",
        "formula": "name and version of how the dates were found",
        "notes": "list of how the files were understood",
    },
    Kind.COLD_SNAP_RAISED: {
        "site": "site id",
        "season": "first year",
        "ordinal": "which cold-snap check of the season, from 1; the same again when the night was brought forward",
        "night": "first night, by the date its lowest temperature is forecast for",
        "last_night": "last night on end",
        "lows": "mapping of each night to its forecast lowest temperature, degF",
        "threshold_degf": "a night this cold or colder counts",
        "source": "file name and hash, or typed",
        "says": "what was forecast, in words",
    },
    Kind.ATTACHED: {
        "attachment": "id of the attachment",
        "sha256": "name of the kept file: hash of its content and a salt",
        "kind": "photo or sound",
        "format": "jpeg, png, heic, webp, wav, ogg, mp3, m4a or flac, by its first bytes",
        "bytes": "size of the content",
        "name": "empty; of entries by older versions the file name as handed in",
        "tower": "tower id",
        "visit": "visit id or empty",
        "step": "step key or empty",
        "taken_at": "local time it was taken, or empty",
        "taken_from": "camera or file: where that time is from",
        "keep_until": "last day it is to be kept, or empty: for good",
        "words": "empty; of entries by older versions what it shows",
        "details?": "name of the kept file that holds both: hash of its content and a salt",
    },
    Kind.ATTACHMENT_ERASED: {"attachment": "id of the attachment", "sha256": "name of the file", "because": "reason"},
    Kind.DETAIL_DISCARDED: {
        "sha256": "name of the file that held it",
        "what": "record type",
        "id": "its id",
        "field": "which of its fields",
        "because": "reason",
    },
    Kind.RECORDING_ALLOWED: {
        "site": "site id",
        "allowed": "true or false",
        "by": "who at the site said so",
        "until": "last day, or empty",
        "because": "in words",
    },
    Kind.REPAIR_ANSWERED: {
        "finding": "finding id",
        "visit": "visit id or empty",
        "answer": "offered, accepted or declined",
        "by": "who of the customer answered, or empty",
        "words": "their words, or empty",
    },
    Kind.INSTRUMENT_CHECKED: {
        "instrument": "instrument id",
        "on": "day it was checked before use",
        "ok": "true when it showed what it should",
        "says": "against what, and what it showed",
    },
    Kind.INSTRUMENT_RECALLED: {
        "recall": "id of the recall",
        "instrument": "instrument id",
        "since": "first day whose readings are doubted",
        "because": "reason, such as found out of tolerance at the laboratory",
    },
    Kind.RECALL_REVIEWED: {
        "recall": "id of the recall",
        "visits": "list of visit ids; empty for all that rest on it",
        "outcome": "stands, or repeat when they prove nothing and are to be read again",
        "because": "what the reviewer concludes, and from what",
    },
    Kind.DEVICE_ENROLLED: {
        "device": "id of the device: 16 hex digits of its key's hash",
        "name": "what people call it",
        "because?": "reason",
    },
    Kind.DEVICE_REVOKED: {
        "device": "id of the device",
        "entries": "number of its last entry that counts",
        "checkpoint": "hash of the last checkpoint that knows of it, hex, or empty",
        "because": "reason, such as lost",
    },
    Kind.FORK_FOUND: {
        "device": "id of the device that wrote two entries with one number",
        "seq": "the number",
        "held": "hash of the entry in the log, hex",
        "other": "hash of the other one, hex",
        "line": "the other entry's line, or empty when it is too long",
        "sig": "its signature, hex",
    },
    Kind.HANDOVER_READ: {"site": "site id"},
    Kind.SEASON_REVIEWED: {
        "on": "day",
        "not_proven": "list of tower and reason",
        "words": "what the reviewer concludes",
    },
}  # fmt: skip
"""What each kind's body holds. A name with `?` may be absent."""


@dataclass(frozen=True, slots=True)
class Record:
    """One thing that happened, before the journal numbers, links and signs it."""

    kind: Kind
    """What happened."""
    body: Mapping[str, Any]
    """The facts; fields as in `FIELDS`."""
    uid: str | None = None
    """Fixed id when the same event must never be written twice; else the journal draws one."""

    def __post_init__(self) -> None:
        wrong = misfits(self.kind, self.body)
        if wrong:
            raise SeasonlogError(f"A {self.kind} entry cannot be written: {wrong}")


def misfits(kind: Kind, body: Mapping[str, Any]) -> str:
    """What is missing from a body or does not belong in it; empty when it fits."""
    fields = FIELDS[kind]
    known = {name.rstrip("?") for name in fields}
    needed = {name for name in fields if not name.endswith("?")}
    missing, extra = sorted(needed - body.keys()), sorted(body.keys() - known)
    return "; ".join(
        words
        for words in (missing and f"missing {', '.join(missing)}", extra and f"unknown {', '.join(extra)}")
        if words
    )
