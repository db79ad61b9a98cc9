"""The shared log of a firm on PostgreSQL: every device pushes what it wrote and pulls what the others wrote.

The hub holds copies and proves nothing: a device verifies every entry it pulls, and works on without the hub. The
server's rules (roles, row-level security, triggers) stop the programs of the firm's own people; only hashes and
signatures show what an administrator of the server changed, and `check` looks for that.
"""
