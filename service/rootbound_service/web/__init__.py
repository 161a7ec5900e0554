"""What the service answers over HTTP: links of letters, calls of providers, feeds, health."""
