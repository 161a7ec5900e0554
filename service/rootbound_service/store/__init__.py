"""People, fields, digs, risk, notes and the outbox, in SQLite or PostgreSQL.

Every function takes the caller's connection and leaves the transaction to the caller.
"""
