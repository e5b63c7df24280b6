"""How temperature speeds up ageing, and what a storage history adds up to."""
