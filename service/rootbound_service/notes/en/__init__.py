"""English: every sentence and every template that a reader sees."""
