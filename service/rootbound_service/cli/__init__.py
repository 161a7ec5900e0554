"""The command line: one room for each subject, opened by ``app.main``."""
