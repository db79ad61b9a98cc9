"""Spoken and typed phrases: words to intents, the dialogue around them, and the optional engines that hear and speak.

`grammar.parse(text, ground)` reads one phrase, `tiers.judge(hearing, ground)` decides what a hearing is worth,
`dialogue.step(state, event)` says what to do next, `session.heard(...)` does it to the log. All but `session` and the
engines are pure. A phrase that was typed takes the same way as one that was heard.
"""
