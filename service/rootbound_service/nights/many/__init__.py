"""The night of very many fields: the same rows and notes, worked out chunk by chunk."""
