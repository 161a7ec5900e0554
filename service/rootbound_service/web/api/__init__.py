"""The API for programs: everything the pages do, as JSON."""
