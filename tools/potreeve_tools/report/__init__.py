"""The report: one HTML page about a rehearsal that needs nothing but a browser."""
