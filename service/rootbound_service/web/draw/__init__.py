"""The pictures of the pages: SVG of our own, styled by draw.css alone."""
