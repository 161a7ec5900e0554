"""The package's own errors: one base, and a child only where a caller catches it."""


class RulesError(ValueError):
    """Something given to the rules is outside what they hold for."""


class TableError(RulesError):
    """A row of ``data/*.toml`` is missing, uncited or out of its range."""
