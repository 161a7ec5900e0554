"""One module a weather service: its requests, its answers, its names and units."""
