"""Numbers in, numbers out: no clock, no files, no state."""
