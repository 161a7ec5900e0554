"""What machines read: warnings as CAP, Atom, dates as iCalendar, places as GeoJSON, rows as CSV."""
