"""The record: canonical lines, hashes, signatures, the store and its views."""
