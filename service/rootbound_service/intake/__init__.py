"""Intake: what people give becomes records, or a list of everything that is wrong with it."""
