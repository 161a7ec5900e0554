"""Weather of grid cells: asked from a public service, checked, kept, read back as days."""
