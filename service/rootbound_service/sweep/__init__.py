"""One computation over many chunks, the same to the bit wherever it runs."""
