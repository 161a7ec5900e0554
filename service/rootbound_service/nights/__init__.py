"""The steps of one night, each a function of values; ``nightly.py`` tells them in order."""
