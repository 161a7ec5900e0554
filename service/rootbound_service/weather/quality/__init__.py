"""Marks values that cannot be right or are hard to believe; it never edits one."""
