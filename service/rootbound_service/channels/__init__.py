"""The ways out and back: e-mail and text, what a message looks like on them, and the sender."""
