"""How good an instrument the panel is, and what it tastes in which order."""
