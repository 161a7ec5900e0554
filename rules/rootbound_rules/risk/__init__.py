"""From the outlook to a rung with its reason, and what can be done."""
