"""One field over one season: day by day for the desk, all members at once for the night."""
