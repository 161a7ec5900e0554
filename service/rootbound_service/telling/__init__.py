"""Whom to tell, by what way and when: consent, wishes, quiet hours and limits."""
