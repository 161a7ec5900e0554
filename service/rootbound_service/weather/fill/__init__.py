"""One series from several sources: what fills a gap, and a mark on every filled value."""
