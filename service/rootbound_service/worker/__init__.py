"""The clockwork: what is due now, and the scheduler that asks."""
