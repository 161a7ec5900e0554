"""The report of seasons played again: what was said, what came, and what it was worth."""
