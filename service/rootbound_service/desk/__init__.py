"""One field at a desk: files in, a table and a picture out; no service, no database."""
