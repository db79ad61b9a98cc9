"""What hears, speaks and records: small protocols, and engines behind them that are imported only when used.

Everything here is optional. Without the extra `voice` one sentence says how to add it, and the same phrases can be
typed. Nothing is ever fetched: models come inside packages, or from a folder on this machine.
"""
