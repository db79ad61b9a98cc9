"""Who does which tower on which day: an instance in, a plan that keeps every hard rule out, and what did not fit."""
