"""What people are told: notes and digests, written, drawn, and sent by e-mail."""
