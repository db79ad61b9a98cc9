"""Bytes in, values or a list of problems out; opens no file."""
