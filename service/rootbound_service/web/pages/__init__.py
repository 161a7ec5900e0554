"""The pages of somebody signed in."""
