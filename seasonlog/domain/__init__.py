"""What the trade talks about: frozen values and rules."""
