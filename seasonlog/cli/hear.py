"""`seasonlog hear`: what would be taken of a recorded phrase, and why."""

from typing import TYPE_CHECKING

import click

from seasonlog.cli import frame
from seasonlog.cli.frame import Frame, log_option, shows

if TYPE_CHECKING:
    from seasonlog.voice.hearing import Hearing
    from seasonlog.voice.intents import Ground, Intent, Judged, Refused

SHOWN = 3
"""Readings shown of each decode."""


@click.command()
@click.argument("file", metavar="FILE.wav")
@click.option("--tower", required=True, metavar="T", help="The tower.")
@click.option("--checklist", required=True, metavar="C", help="The checklist, such as fall-enable.")
@click.option("--step", default="", metavar="S", help="The step on the screen; else the first that can be answered.")
@log_option
@shows
@click.pass_obj
def hear(
    obj: Frame, file: str, tower: str, checklist: str, step: str, log: str | None, as_json: bool, today: str | None
) -> int:
    """Tell what would be taken of a recorded phrase at a step, how sure it is, and why. Nothing is written."""
    from dataclasses import replace

    from seasonlog.services.settings import kept
    from seasonlog.voice.engines import ready
    from seasonlog.voice.engines.wav import read_wav
    from seasonlog.voice.ground import ground_of
    from seasonlog.voice.intents import Expecting, Taken
    from seasonlog.voice.place import desk_at
    from seasonlog.voice.prompts import example_prompts
    from seasonlog.voice.tiers import judge

    clip = read_wav(frame.file_bytes(file), file)
    with frame.reading(obj, log) as book:
        desk = desk_at(book, tower, checklist, step)
        ground = replace(ground_of(book, desk), expecting=Expecting.ANSWER)
        hearing = ready.recogniser(kept(book.places)).hear(clip, example_prompts(ground))
    judged = judge(hearing, ground)
    (_document if as_json else _words)(hearing, judged, ground)
    return 0 if isinstance(judged, Taken) else 1


def _words(hearing: "Hearing", judged: "Judged", ground: "Ground") -> None:
    noise = "" if hearing.noise_db is None else f", voice {hearing.noise_db:g} dB over the noise"
    frame.say(f"at {ground.current}: {ground.step.title}")
    frame.say(f"{hearing.seconds:.1f} s of sound{noise}; {hearing.engine}, {hearing.model}")
    for row in _readings(hearing, ground):
        frame.say(f"  example {row['example']}  {row['log_prob']:7.2f}  {row['text']}  -> {row['means']}")
    told = _told(judged)
    frame.out(f"{told['tier']}: {told['means'] or told['why']}")
    if told["means"] and told["why"]:
        frame.say(f"asked back because: {told['why']}")


def _document(hearing: "Hearing", judged: "Judged", ground: "Ground") -> None:
    frame.out_json(
        {
            "step": ground.current,
            **_told(judged),
            "seconds": round(hearing.seconds, 2),
            "noise_db": hearing.noise_db,
            "engine": hearing.engine,
            "model": hearing.model,
            "readings": _readings(hearing, ground),
        }
    )


def _readings(hearing: "Hearing", ground: "Ground") -> list[dict[str, object]]:
    """The likeliest readings of each decode, and what each would mean."""
    from seasonlog.voice.grammar import parse

    numbers = sorted({each.prompt for each in hearing.hypotheses})
    shown = [[each for each in hearing.hypotheses if each.prompt == number][:SHOWN] for number in numbers]
    return [
        {
            "example": each.prompt + 1,
            "log_prob": round(each.log_prob, 2),
            "text": each.text,
            "means": means(parse(each.text, ground)),
        }
        for rows in shown
        for each in rows
    ]


def _told(judged: "Judged") -> dict[str, object]:
    from seasonlog.voice.intents import Ask, Refused, Taken

    if isinstance(judged, Refused):
        return {"tier": "refused", "means": "", "why": judged.says, "posterior": None, "heard": ""}
    tier = "taken" if isinstance(judged, Taken) else "asked back"
    why = judged.why if isinstance(judged, Ask) else ""
    return {
        "tier": tier, "means": means(judged.intent), "why": why, "posterior": round(judged.posterior, 3),
        "heard": judged.text,
    }  # fmt: skip


def means(intent: "Intent | Refused") -> str:
    """What a phrase means, in the record's words."""
    from seasonlog.voice.intents import Answer, Command, Go, Note, Refused, Skip

    if isinstance(intent, Refused):
        return f"nothing: {intent.says}"
    if isinstance(intent, Answer):
        raw = intent.raw if isinstance(intent.raw, str) else ", ".join(text or "-" for text in intent.raw)
        line = f", line {intent.line + 1}" if intent.line is not None else ""
        return f"{intent.step}{line} = {raw}"
    if isinstance(intent, Command):
        return f"command {intent.word}"
    words = {Skip: "skip", Note: "note", Go: "go to"}[type(intent)]
    more = intent.because if isinstance(intent, Skip) else intent.text if isinstance(intent, Note) else ""
    return f"{words} {intent.step} {more}".strip()
