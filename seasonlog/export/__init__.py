"""Values in, bytes of a calendar or a table out."""
