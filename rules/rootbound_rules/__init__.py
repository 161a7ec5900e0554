"""What Rootbound holds true of crops, water and roots: pure, cited, no clock, no network.

``season.trace`` runs one field day by day; ``season.outlook`` asks what the coming days
may bring; ``risk.ladder`` decides. Every constant is a cited row of ``data/*.toml``.
"""
