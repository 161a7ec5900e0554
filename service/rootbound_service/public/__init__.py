"""What asking any public service has in common: polite requests and strict reading."""
