"""Use cases: take a journal and a clock, return values."""
